import { readFile } from 'node:fs/promises'
import { fileURLToPath } from 'node:url'
import { parsePointsText } from '../../shared/contract/pointsFile.ts'
import { measurePrepared, prepareSwing } from '../../shared/swing/measureSwing.ts'
import { sidesOf } from '../../shared/swing/sides/sides.ts'
import { handsDisagree } from '../../shared/swing/sides/sidesWords.ts'

/** Where a command's words go. */
export interface CommandOutput {
  readonly out: (text: string) => void
  readonly err: (text: string) => void
}

const usage = 'Usage: crossbearing measure FILE.json (a points file; - reads it from standard input).'

async function readInput(path: string): Promise<string> {
  if (path !== '-') return readFile(path, 'utf8')
  let text = ''
  for await (const chunk of process.stdin.setEncoding('utf8')) text += chunk
  return text
}

function whyUnread(path: string, error: unknown): string {
  const code = error instanceof Error && 'code' in error ? error.code : undefined
  if (code === 'ENOENT') return `There is no file ${path}.`
  if (code === 'EISDIR') return `${path} is a folder, not a points file.`
  if (code === 'EACCES') return `${path} may not be read by this user.`
  return `${path} could not be read: ${error instanceof Error ? error.message : String(error)}.`
}

/**
 * Reads a points file and writes the result JSON; what surely stands on the wrong side is said on standard error too.
 * @returns 0 with a result, 2 with one sentence on standard error for bad input
 */
export async function runMeasure(args: readonly string[], io: CommandOutput): Promise<number> {
  const [path, ...rest] = args
  if (!path || rest.length || (path.startsWith('--') && path !== '-')) {
    io.err(`${usage}\n`)
    return path === '--help' ? 0 : 2
  }
  let text: string
  try {
    text = await readInput(path)
  } catch (error) {
    io.err(`${whyUnread(path, error)}\n`)
    return 2
  }
  const parsed = parsePointsText(text)
  if (!parsed.ok) {
    io.err(`${parsed.error.replaceAll(/\s+/g, ' ')}\n`)
    return 2
  }
  const swing = prepareSwing(parsed.file)
  const disagree = handsDisagree(sidesOf(swing))
  if (disagree) {
    io.err(`views: ${disagree}\n`)
    return 2
  }
  const result = measurePrepared(swing)
  for (const warning of result.warnings ?? []) io.err(`${warning}\n`)
  io.out(`${JSON.stringify({ ...result, ...(parsed.ignored.length && { ignored: parsed.ignored }) }, null, 2)}\n`)
  return 0
}

if (process.argv[1] === fileURLToPath(import.meta.url))
  process.exitCode = await runMeasure(process.argv.slice(2), { out: (text) => process.stdout.write(text), err: (text) => process.stderr.write(text) })
