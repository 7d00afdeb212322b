import { demoPoints } from '../../electron/desk/demoPoints.ts'
import { demoShots, type Shot } from '../../electron/desk/demo/plan.ts'
import { clipTruth, timescale } from '../../electron/desk/demo/truth.ts'
import type { Digitised, LandmarkRecord } from '../../shared/contract/digitising.ts'
import { History } from '../../shared/markup/history.ts'
import { assembleSwing, type MeasuredClip } from '../../shared/swing/assemble.ts'
import { digitisedFault } from '../../shared/swing/digitised.ts'
import { measurePrepared, prepareSwing } from '../../shared/swing/measureSwing.ts'
import { sidesOf } from '../../shared/swing/sides/sides.ts'

/**
 * What one move of a dragged point costs the processor, part by part, from the record to all measures, with the cameras
 * held as they were solved: on the demo's swing of two views, all its points placed on every frame. The plain baseline is
 * copying the same points file once as JSON. Wanted: the whole under 16 ms. The processor's own time, so that it does not
 * count what else the machine does.
 */
const partOf = (shot: Shot) => {
  const truth = clipTruth(shot, 1)
  const ticks = truth.frames.map(({ tick }) => tick)
  const clip: MeasuredClip = {
    id: shot.id, view: truth.view, handedness: truth.handedness, width: truth.widthPx, height: truth.heightPx, captureRate: shot.captureRate, playRate: shot.playRate,
    frames: { timescale, ticks, endTick: ticks.at(-1)! + Math.round(timescale / shot.playRate) },
  }
  return { truth, clip, records: demoPoints(truth, clip) }
}
const shots = demoShots().filter(({ student }) => student === 'rowan')
const [front, line] = (['face-on', 'down-the-line'] as const).map((view) => partOf(shots.find(({ setting }) => setting.view === view)!))
if (!front || !line) throw new Error('the demo has no such swing')
const history = new History<Digitised>(Object.fromEntries([...front.records, ...line.records].map((record) => [record.id, record])))
const swingOf = (records: Readonly<Record<string, Digitised>>) => ({
  clips: [front.clip, line.clip], oneSwing: true, tie: { left: front.truth.events.impact!.tick, right: line.truth.events.impact!.tick },
  statureM: front.truth.statureM, club: front.truth.club, records, clickError: { squares: 0, freedom: 0 },
})
const fileOf = (records: Readonly<Record<string, Digitised>>) => {
  const assembled = assembleSwing(swingOf(records))
  if (!assembled.ok) throw new Error(assembled.reasons.join(' '))
  return assembled.file
}
const held = prepareSwing(fileOf(history.table)).solved
const wrists = front.records.filter((record): record is LandmarkRecord => record.kind === 'landmark' && record.point === 'leadWrist')
const dragged = wrists[Math.floor(wrists.length / 2)]!

const spent: Record<string, number[]> = {}
const timed = <T>(name: string, run: () => T): T => {
  const before = process.cpuUsage()
  const result = run()
  const { user, system } = process.cpuUsage(before)
  ;(spent[name] ??= []).push((user + system) / 1000)
  return result
}
const middle = (values: readonly number[]): number => values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)]!

history.open()
for (let move = 0; move < 60; move++) {
  timed('the whole', () => {
    const records = timed('record', () => {
      const moved = { ...dragged, at: [dragged.at[0] + (move % 20) / 4, dragged.at[1]] as const }
      const fault = digitisedFault([...Object.values(history.table).filter(({ id, clipId }) => clipId === moved.clipId && id !== moved.id), moved], front.clip)
      if (fault) throw new Error(fault)
      history.put({ [moved.id]: moved })
      return history.table
    })
    const file = timed('points file', () => fileOf(records))
    const swing = timed('positions', () => prepareSwing(file, held))
    timed('sides', () => sidesOf(swing))
    timed('measures', () => measurePrepared(swing))
  })
}
const file = fileOf(history.table)
for (let i = 0; i < 20; i++) timed('copy', () => JSON.parse(JSON.stringify(file)))
const part = (name: string): string => `${name} ${middle(spent[name]!.slice(10)).toFixed(1)}`
console.log(`a dragged point: ${file.views.map(({ frames }) => frames.length).join(' and ')} frames, ${Object.keys(history.table).length} records: ${part('the whole')} ms of the processor (${['record', 'points file', 'positions', 'sides', 'measures'].map(part).join(', ')}); ${part('copy')} the file; wanted under 16 ms`)
