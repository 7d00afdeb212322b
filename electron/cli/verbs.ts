import { existsSync } from 'node:fs'
import { resolve } from 'node:path'
import { viewSchema, type View } from '../../shared/contract/clip.ts'
import type { Student } from '../../shared/contract/student.ts'
import type { OpenDesk } from '../desk/createDesk.ts'
import { layoutOf } from '../library/layout.ts'
import { restoreLibrary } from '../library/backup.ts'
import { codeOf, waitForJobs } from './jobs.ts'
import { UsageError, type Terminal } from './terminal.ts'

export interface Options {
  readonly student?: string | undefined
  readonly view?: string | undefined
  readonly club?: string | undefined
  readonly pair?: string | undefined
  readonly out?: string | undefined
  readonly scale?: string | undefined
  readonly seconds?: string | undefined
  readonly deep?: boolean | undefined
  readonly unnamed?: boolean | undefined
  readonly forward?: boolean | undefined
  readonly inverse?: boolean | undefined
  readonly fit?: boolean | undefined
  readonly sweep?: boolean | undefined
  readonly json?: boolean | undefined
  readonly swivel?: string | undefined
  readonly azimuth?: string | undefined
  readonly 'at-level'?: string | undefined
  readonly at?: string | undefined
}

export interface Call {
  readonly words: readonly string[]
  readonly options: Options
  readonly terminal: Terminal
  /** The library's folder. */
  readonly folder: string
  /** Opens the library, once. */
  desk(): OpenDesk
}

/** Each command answers with its exit code. */
export type Verb = (call: Call) => Promise<number>

const pairs = ['one-swing', 'two-swings', 'none'] as const

function viewOf(text: string | undefined): View | null {
  if (text === undefined) return null
  const view = viewSchema.safeParse(text)
  if (!view.success) throw new UsageError(`--view needs one of ${viewSchema.options.join(', ')}, not ${text}.`)
  return view.data
}

async function studentCalled(desk: OpenDesk, name: string): Promise<Student> {
  const students = await desk.call('student.list', {})
  const same = students.filter((student) => student.name.toLowerCase() === name.toLowerCase())
  if (same.length > 1) throw new UsageError(`There are ${same.length} students called ${name}; take the clips in from the window.`)
  return (
    same[0] ??
    desk.call('student.save', {
      id: null,
      name,
      handedness: 'right',
      statureM: null,
      clubs: [],
      goals: '',
      ballFlight: '',
      injuries: '',
      minor: false,
      consent: { student: { given: false, on: null }, guardian: { given: false, name: '', on: null }, purpose: '', until: null },
    })
  )
}

export const takeIn: Verb = async ({ words, options, terminal, desk }) => {
  if (words.length === 0) throw new UsageError('Say which files: crossbearing take-in FILE...')
  const view = viewOf(options.view)
  const pair = pairs.find((each) => each === (options.pair ?? 'none'))
  if (!pair) throw new UsageError(`--pair needs one of ${pairs.join(', ')}, not ${options.pair}.`)
  const open = desk()
  const student = options.student === undefined ? null : await studentCalled(open, options.student)
  const { jobs } = await open.call('takeIn.start', {
    studentId: student?.id ?? null,
    club: options.club ?? '',
    handedness: null,
    question: '',
    feel: '',
    pair,
    items: words.map((word) => ({ source: { path: resolve(word) }, view, captureRate: null })),
  })
  const ended = await waitForJobs(
    open,
    jobs.map(({ id }) => id),
    terminal,
  )
  for (const job of ended) if (job.state === 'done') terminal.out(`${job.result}\t${job.title}`)
  return codeOf(ended)
}

/** A folder that was mistyped is not made into an empty library, which would then be called sound. */
export function mustExist(folder: string): void {
  if (!existsSync(layoutOf(folder).database))
    throw new UsageError(`There is no library in ${folder}: name its folder with --library, or take clips in first.`)
}

export const handoff: Verb = async ({ words, options, terminal, folder, desk }) => {
  const [id, ...more] = words
  if (!id || more.length > 0) throw new UsageError('Say which walkthrough: crossbearing handoff WALKTHROUGH_ID [--out FILE]')
  mustExist(folder)
  const open = desk()
  const { handoff: settings } = await open.call('settings.get', {})
  const { job } = await open.call('handoff.start', {
    walkthroughId: id,
    settings: { ...settings, title: '' },
    to: options.out === undefined ? null : resolve(options.out),
  })
  const ended = await waitForJobs(open, [job.id], terminal)
  for (const { state, result } of ended) if (state === 'done') terminal.out(result!)
  return codeOf(ended)
}

export const backup: Verb = async ({ words, terminal, folder, desk }) => {
  const [to, ...more] = words
  if (!to || more.length > 0) throw new UsageError('Say where to: crossbearing backup FOLDER')
  mustExist(folder)
  const { path, bytes } = await desk().call('library.backup', { to: resolve(to) })
  terminal.out(`${path}\t${bytes}`)
  return 0
}

export const restore: Verb = async ({ words, terminal, folder }) => {
  const [from, ...more] = words
  if (!from || more.length > 0) throw new UsageError('Say from where: crossbearing restore FOLDER [--library NEW_FOLDER]')
  if (existsSync(layoutOf(folder).database))
    throw new UsageError(`There is a library in ${folder} already: name another folder with --library.`)
  let shown = -1
  const bytes = await restoreLibrary(resolve(from), folder, {
    signal: terminal.signal,
    onProgress: (share) => {
      const tenth = Math.floor(share * 10)
      if (tenth > shown) terminal.say(`Restoring, ${(shown = tenth) * 10} %`)
    },
  })
  terminal.out(`${folder}\t${bytes}`)
  return 0
}

export const check: Verb = async ({ words, options, terminal, folder, desk }) => {
  if (words.length > 0) throw new UsageError('crossbearing check [--deep] takes no names.')
  mustExist(folder)
  const { sound, findings, swept } = await desk().call('library.check', { deep: options.deep === true })
  for (const finding of findings) terminal.out(finding)
  for (const path of swept) terminal.say(`Swept away: ${path}`)
  if (sound) terminal.out('The library is sound.')
  return sound ? 0 : 1
}
