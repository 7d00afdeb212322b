import type { ViewName } from '../../contract/pointsFile.ts'

/** A number with its standard deviation. */
export interface Known {
  readonly value: number
  readonly sigma: number
}

/** What is known of a camera's place; what is not known is left out. Metres and degrees, signs as the measures have them. */
export interface PlaceReadings {
  readonly view: ViewName
  /** Down the line: off the hand line, positive toward the ball's side. Face-on: off the middle of the stance, positive toward the target. */
  readonly offset?: Known
  readonly height?: Known
  readonly distance?: Known
  readonly yaw?: Known
  readonly roll?: Known
  /** What its place adds to the look of the shaft at the top, down the line. */
  readonly bias?: Known
}

/** What is asked of the student only where it is off by more than this and more than twice its error: common practice, no source. */
export const tolerances = { offsetM: 0.12, heightM: [0.7, 1.3], distanceM: [3, 6], yawDegrees: 4, rollDegrees: 2 } as const

const sure = ({ value, sigma }: Known, tolerance: number): boolean => Math.abs(value) > Math.max(tolerance, 2 * sigma)
const outside = (k: Known | undefined, [low, high]: readonly [number, number]): -1 | 0 | 1 => {
  if (!k) return 0
  return k.value + 2 * k.sigma < low ? -1 : k.value - 2 * k.sigma > high ? 1 : 0
}

const metres = (m: number): string => (Math.abs(m) < 1 ? `${Math.round(Math.abs(m) * 20) * 5} cm` : `${Math.abs(m).toFixed(1)} m`)

/** The line that a camera should stand on, for the student. */
const lineWords: Record<ViewName, string> = { 'down-the-line': 'straight behind your hands', 'face-on': 'straight out from the middle of your stance' }

function sideways({ view, offset, bias }: PlaceReadings): string | null {
  if (!offset || !sure(offset, tolerances.offsetM)) return null
  const toward = view === 'down-the-line' ? (offset.value > 0 ? 'toward your heels' : 'toward the ball') : offset.value > 0 ? 'away from the target' : 'toward the target'
  const why =
    view === 'down-the-line' && bias && sure(bias, 1)
      ? `: from where it stood a good top looks about ${Math.abs(bias.value).toFixed(0)} degrees ${bias.value > 0 ? 'across the line' : 'laid off'}`
      : `, so that it stands ${lineWords[view]}`
  return `Move the phone about ${metres(offset.value)} ${toward}${why}.`
}

/** What else to change, the most telling first. */
function others(r: PlaceReadings): string[] {
  const out: string[] = []
  const height = outside(r.height, tolerances.heightM)
  if (height) out.push(`set it ${height < 0 ? 'higher' : 'lower'}, at the height of your hands at address (it stood at ${metres(r.height!.value)})`)
  const distance = outside(r.distance, tolerances.distanceM)
  if (distance) out.push(distance < 0 ? `put it farther off, four to five steps (it stood ${metres(r.distance!.value)} away)` : `put it nearer, four to five steps off (it stood ${metres(r.distance!.value)} away)`)
  if (r.roll && sure(r.roll, tolerances.rollDegrees)) out.push(`level it: the picture leans by ${Math.abs(r.roll.value).toFixed(0)} degrees`)
  if (r.yaw && sure(r.yaw, tolerances.yawDegrees) && !(r.offset && sure(r.offset, tolerances.offsetM)))
    out.push(r.view === 'down-the-line' ? 'point it along the target line, not at the ball' : 'point it square at your middle, not toward one side')
  return out
}

const capital = (text: string): string => text[0]!.toUpperCase() + text.slice(1)

/** Two sentences for the student on where to put the phone next time, from what is known well enough. */
export function filmingAdvice(r: PlaceReadings): readonly [string, string] {
  const side = sideways(r)
  const rest = others(r)
  const marks = r.view === 'down-the-line' ? 'Lay a stick along your target line and leave it in the picture, so that its place can be checked again.' : 'Keep your feet and the whole club in the picture, and leave it where it is for every swing.'
  if (side) return [side, rest.length ? `${capital(rest.slice(0, 2).join(', and '))}.` : marks]
  if (rest.length) return [`${capital(rest.slice(0, 2).join(', and '))}.`, marks]
  const known = r.offset || r.height || r.distance
  return known
    ? [`The phone stood well: ${lineWords[r.view]}, as far as can be told${r.offset ? ` (within ${metres(Math.max(0.05, r.offset.sigma))})` : ''}.`, marks]
    : [`Where the phone stood cannot be told from this clip; put it ${lineWords[r.view]}, at the height of your hands, four to five steps away.`, marks]
}
