import { readFileSync, readdirSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { drillAreas, starterCardSchema, type DrillCard } from '../../shared/contract/drill.ts'

/** The shipped cards: two folders above this one, whether it runs as written or bundled. */
const folder = join(dirname(fileURLToPath(import.meta.url)), '..', '..', 'assets', 'drills')

let cards: readonly DrillCard[] | null = null

/** The starter cards in the order of the swing, then by title. Read and checked once; throws where a shipped file does not hold. */
export function starterCards(): readonly DrillCard[] {
  cards ??= readdirSync(folder)
    .filter((name) => name.endsWith('.json'))
    .map((name): DrillCard => {
      const parsed = starterCardSchema.safeParse(JSON.parse(readFileSync(join(folder, name), 'utf8')))
      if (!parsed.success) throw new Error(`The drill card ${name} does not hold: ${parsed.error.issues[0]!.path.join('.')}: ${parsed.error.issues[0]!.message}`)
      return { ...parsed.data, id: name.slice(0, -'.json'.length), origin: 'starter', clipId: null }
    })
    .sort((a, b) => drillAreas.indexOf(a.area) - drillAreas.indexOf(b.area) || a.title.localeCompare(b.title, 'en'))
  return cards
}
