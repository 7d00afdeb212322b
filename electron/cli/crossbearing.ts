#!/usr/bin/env node
import { readFileSync } from 'node:fs'
import { basename } from 'node:path'
import { parseArgs } from 'node:util'
import { createDesk, type OpenDesk } from '../desk/createDesk.ts'
import { faultOf } from '../desk/faultOf.ts'
import { libraryFolder } from '../library/layout.ts'
import { UsageError, type Terminal } from './terminal.ts'
import { backup, check, handoff, restore, takeIn, type Verb } from './verbs.ts'

const help = `crossbearing VERB ...

  demo OUT                     makes the demo swings, takes them in, records a scripted lesson and hands it off into the folder OUT
  take-in FILE...              takes clips in; prints an id and a name a line
      --student NAME  --view face-on|down-the-line|other  --club CLUB  --pair one-swing|two-swings|none
      --scale .5  --seconds 1.2   smaller and shorter swings, made quicker
  measure FILE                 measures a points file; prints the result as JSON
  arms [FILE]                  where the trail elbow makes which shaft: of a points file's student, of an arms file, or of a standard body
      --sweep  --forward [--swivel DEG]  --inverse [--azimuth DEG | --at-level DEG]  --fit [--at POSITION]  --json
  handoff WALKTHROUGH_ID       renders a walkthrough to a video; prints its path
      --out FILE
  shelf WORDS...               finds swings as the Shelf's search box does; prints a key and what it is a line
  bundle KEY                   writes a swing to one file, without place and phone; prints its path
      --out FILE  --unnamed   leaves the player's name out
  unbundle FILE...             brings such files in; prints a clip's id and a name a line
  backup FOLDER                copies the whole library to a new folder
  restore FOLDER               brings a backup back as the library (in a folder that has none)
  check                        looks whether the library holds together
      --deep                   reads every clip again

  --library FOLDER             the library to use; else CROSSBEARING_LIBRARY, else the platform's own place
  --help  --version

Ends with 0 when all was done, 1 when something could not be done, 2 for a mistake in the command or its file.
`

/** `demo` and `measure` bring much along that the other commands do not need. */
const verbs: Readonly<Record<string, () => Promise<Verb>>> = {
  'take-in': async () => takeIn,
  handoff: async () => handoff,
  backup: async () => backup,
  restore: async () => restore,
  check: async () => check,
  demo: async () => (await import('./demo.ts')).demo,
  shelf: async () => (await import('./shelf.ts')).shelf,
  bundle: async () => (await import('./shelf.ts')).bundle,
  unbundle: async () => (await import('./shelf.ts')).unbundle,
  arms: async () => (await import('./arms.ts')).arms,
  measure: async () => {
    const { runMeasure } = await import('./measure.ts')
    return ({ words, terminal }) =>
      runMeasure(words, { out: (text) => terminal.out(text.trimEnd()), err: (text) => terminal.say(text.trimEnd()) })
  },
}

/** `--swivel -5` is an option and its number, not two options. */
function withNegatives(args: readonly string[]): string[] {
  const out: string[] = []
  for (const arg of args) {
    const before = out.at(-1)
    if (/^-\.?\d/.test(arg) && before?.startsWith('--') && !before.includes('=')) out[out.length - 1] = `${before}=${arg}`
    else out.push(arg)
  }
  return out
}

function readArguments(args: readonly string[]) {
  try {
    return parseArgs({
      args: withNegatives(args),
      allowPositionals: true,
      options: {
        library: { type: 'string' },
        student: { type: 'string' },
        view: { type: 'string' },
        club: { type: 'string' },
        pair: { type: 'string' },
        out: { type: 'string' },
        scale: { type: 'string' },
        seconds: { type: 'string' },
        deep: { type: 'boolean' },
        unnamed: { type: 'boolean' },
        forward: { type: 'boolean' },
        inverse: { type: 'boolean' },
        fit: { type: 'boolean' },
        sweep: { type: 'boolean' },
        json: { type: 'boolean' },
        swivel: { type: 'string' },
        azimuth: { type: 'string' },
        'at-level': { type: 'string' },
        at: { type: 'string' },
        help: { type: 'boolean', short: 'h' },
        version: { type: 'boolean' },
      },
    })
  } catch (error) {
    throw new UsageError(error instanceof Error ? error.message : String(error))
  }
}

const version = (): string =>
  (JSON.parse(readFileSync(new URL('../../package.json', import.meta.url), 'utf8')) as { version: string }).version

/** Runs one command and answers with its exit code. */
export async function main(args: readonly string[], terminal: Terminal): Promise<number> {
  let open: OpenDesk | null = null
  try {
    const { values, positionals } = readArguments(args)
    const [name, ...words] = positionals
    if (values.version) {
      terminal.out(version())
      return 0
    }
    if (values.help || name === 'help') {
      terminal.out(help.trimEnd())
      return 0
    }
    const verb = name === undefined ? undefined : Object.hasOwn(verbs, name) ? verbs[name] : undefined
    if (!verb)
      throw new UsageError(
        name === undefined
          ? 'Say what to do; crossbearing --help lists it.'
          : `There is no command "${name}"; crossbearing --help lists them.`,
      )
    const folder = libraryFolder(values.library ?? null)
    return await (
      await verb()
    )({ words, options: values, terminal, folder, desk: () => (open ??= createDesk({ folder, log: terminal.say })) })
  } catch (error) {
    if (error instanceof UsageError) {
      terminal.say(error.message)
      return 2
    }
    const { fault } = faultOf(error, terminal.say)
    const where = fault.where !== null && !fault.message.includes(basename(fault.where)) ? `${fault.where}: ` : ''
    terminal.say([`${where}${fault.message}`, fault.remedy].filter(Boolean).join(' '))
    return fault.kind === 'bad-input' ? 2 : 1
  } finally {
    await (open as OpenDesk | null)?.close()
  }
}

if (import.meta.main) {
  const interrupt = new AbortController()
  for (const name of ['SIGINT', 'SIGTERM'] as const)
    process.on(name, () => {
      // A second one means it.
      if (interrupt.signal.aborted) process.exit(1)
      interrupt.abort()
    })
  process.exitCode = await main(process.argv.slice(2), {
    out: (line) => console.log(line),
    say: (line) => console.error(line),
    signal: interrupt.signal,
  })
}
