import { existsSync, mkdirSync, readdirSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { createDesk } from '../desk/createDesk.ts'
import { makeDemoLesson } from '../desk/demoLesson.ts'
import { runTask } from '../desk/tasks.ts'
import { TimeLeft } from '../desk/timeLeft.ts'
import { waitForJobs } from './jobs.ts'
import { timeLeft, UsageError } from './terminal.ts'
import type { Verb } from './verbs.ts'

function numberOf(name: string, text: string | undefined, least: number, most: number): number | undefined {
  if (text === undefined) return undefined
  const value = Number(text)
  if (!(value >= least && value <= most)) throw new UsageError(`--${name} needs a number from ${least} to ${most}, not ${text}.`)
  return value
}

/** Films the kit into OUT/kit, puts it into a library in OUT/library as a window does, and makes a whole lesson from it. */
export const demo: Verb = async ({ words, options, terminal }) => {
  const [to, ...more] = words
  if (!to || more.length > 0) throw new UsageError('Say where to: crossbearing demo OUT')
  const out = resolve(to)
  const scale = numberOf('scale', options.scale, 0.1, 1)
  const seconds = numberOf('seconds', options.seconds, 0.8, 4)
  if (existsSync(out) && readdirSync(out).length > 0) throw new UsageError(`${out} is not empty: name a folder that is not there yet.`)
  mkdirSync(out, { recursive: true })
  const { signal, say } = terminal
  const left = new TimeLeft(performance.now())
  let told = 0
  const kit = await runTask(
    'kit',
    { folder: join(out, 'kit'), options: { ...(scale === undefined ? {} : { scale }), ...(seconds === undefined ? {} : { seconds }) } },
    {
      signal,
      onProgress: ({ share, step }) => {
        const now = performance.now()
        const secondsLeft = left.seconds(now, share)
        if (now - told < 1000 && share < 1) return
        told = now
        say(`${step}, ${Math.floor(share * 100)} %${secondsLeft === null || share >= 1 ? '' : `, ${timeLeft(secondsLeft)}`}`)
      },
    },
  )
  const desk = createDesk({ folder: join(out, 'library'), log: say, engines: { kit: async () => kit } })
  try {
    const made = await makeDemoLesson({
      desk,
      kit,
      out,
      signal,
      say,
      settings: { size: '1080p', orientation: 'landscape', fps: 30, title: 'Rowan: where the shaft points' },
      wait: (ids) => waitForJobs(desk, ids, terminal),
    })
    for (const path of [made.video, ...made.stills, made.report]) terminal.out(path)
    return 0
  } finally {
    await desk.close()
  }
}
