import { z } from 'zod'
import { applyDiff, recordsDiffSchema } from '../markup/diff.ts'
import { markSchema } from '../markup/mark.ts'
import { referencePatchSchema, referenceSchema, type Reference } from './reference.ts'
import { motionSchema, paneIdSchema, paneSchema, playheads, referenceOf, stageClipSchema, stageSchema, type Pane, type PaneId, type Stage, type StageClips } from './stage.ts'

/**
 * What can happen on the stage:
 *
 * | event     | what it does                                                             |
 * | --------- | ------------------------------------------------------------------------ |
 * | pane      | changes some of one pane: its clip, playhead, zoom, centre, mirror       |
 * | seek      | puts both playheads at once (a step of tied panes)                       |
 * | layout    | twin or single, which pane is active                                     |
 * | swap      | the panes change places: playheads, tie and references with them         |
 * | tie       | ties at two instants, or unties                                          |
 * | play      | sets off from where the playheads are; while moving, a new pace          |
 * | stop      | stands still where the motion has got to                                 |
 * | marks     | a reversible change to the marks                                         |
 * | draft     | a mark in the making, or none                                            |
 * | pointer   | where the coach points, or nowhere                                       |
 * | reference | sets a reference beside a pane, or takes it away                         |
 * | compare   | changes how a pane's reference stands: its tie, place, look              |
 * | chapter   | a heading; changes nothing that is seen                                  |
 * | clips     | makes clips known that the header does not name, before a pane shows one |
 * | stage     | everything at once (after an undo of more than marks, a loaded lesson)   |
 */
export const stageEventSchema = z.discriminatedUnion('type', [
  z.object({ type: z.literal('pane'), pane: paneIdSchema, patch: paneSchema.partial() }),
  z.object({ type: z.literal('seek'), ticks: z.tuple([z.number(), z.number()]).readonly() }),
  z.object({ type: z.literal('layout'), layout: z.enum(['twin', 'single']), active: paneIdSchema }),
  z.object({ type: z.literal('swap') }),
  z.object({ type: z.literal('tie'), tie: z.object({ left: z.number(), right: z.number() }).nullable() }),
  z.object({ type: z.literal('play'), motion: motionSchema.pick({ rate: true, moving: true, loop: true }) }),
  z.object({ type: z.literal('stop') }),
  z.object({ type: z.literal('marks'), diff: recordsDiffSchema(markSchema) }),
  z.object({ type: z.literal('draft'), draft: markSchema.nullable() }),
  z.object({ type: z.literal('pointer'), pointer: stageSchema.shape.pointer }),
  z.object({ type: z.literal('reference'), pane: paneIdSchema, reference: referenceSchema.nullable() }),
  z.object({ type: z.literal('compare'), pane: paneIdSchema, patch: referencePatchSchema }),
  z.object({ type: z.literal('chapter'), title: z.string() }),
  z.object({ type: z.literal('clips'), clips: z.record(z.string(), stageClipSchema) }),
  z.object({ type: z.literal('stage'), stage: stageSchema }),
])
export type StageEvent = z.infer<typeof stageEventSchema>

/** The stage after an event at a time (milliseconds on the log's clock). Pure; live drawing and replay both go through here. */
export function applyEvent(stage: Stage, event: StageEvent, at: number, clips: StageClips): Stage {
  switch (event.type) {
    case 'pane': {
      const moved = 'tick' in event.patch || 'clipId' in event.patch
      const base = moved ? standStill(stage, clips, at) : stage
      const next = { ...base.panes[event.pane], ...event.patch } as Pane
      // A reference is tied to the clip that it was set beside.
      const stays = next.clipId === base.panes[event.pane].clipId
      return { ...(stays ? base : withReference(base, event.pane, null)), panes: event.pane === 0 ? [next, base.panes[1]] : [base.panes[0], next] }
    }
    case 'seek':
      return withTicks({ ...stage, motion: null }, event.ticks)
    case 'layout':
      return { ...stage, layout: event.layout, active: event.active }
    case 'swap': {
      const still = standStill(stage, clips, at)
      return {
        ...still,
        panes: [still.panes[1], still.panes[0]],
        tie: still.tie && { left: still.tie.right, right: still.tie.left },
        pointer: null,
        ...(still.references && { references: [still.references[1], still.references[0]] as const }),
      }
    }
    case 'reference':
      return withReference(stage, event.pane, event.reference)
    case 'compare': {
      const reference = referenceOf(stage, event.pane)
      return reference ? withReference(stage, event.pane, { ...reference, ...event.patch } as Reference) : stage
    }
    case 'tie':
      return { ...stage, tie: event.tie }
    case 'play': {
      const still = standStill(stage, clips, at)
      return { ...still, motion: { ...event.motion, from: [still.panes[0].tick, still.panes[1].tick], since: at } }
    }
    case 'stop':
      return standStill(stage, clips, at)
    case 'marks':
      return { ...stage, marks: applyDiff(stage.marks, event.diff) }
    case 'draft':
      return { ...stage, draft: event.draft }
    case 'pointer':
      return { ...stage, pointer: event.pointer }
    case 'chapter':
    case 'clips':
      return stage
    case 'stage':
      return event.stage
  }
}

/** The same instant with the motion ended. */
export function standStill(stage: Stage, clips: StageClips, at: number): Stage {
  if (!stage.motion) return stage
  return withTicks({ ...stage, motion: null }, playheads(stage, clips, at))
}

function withTicks(stage: Stage, ticks: readonly [number, number]): Stage {
  const [left, right] = stage.panes
  return { ...stage, panes: [{ ...left, tick: ticks[0] }, { ...right, tick: ticks[1] }] }
}

/** A stage that never had a reference stays as it was, to the letter, when there is none to take away. */
function withReference(stage: Stage, pane: PaneId, reference: Reference | null): Stage {
  if (referenceOf(stage, pane) === reference) return stage
  const [left, right] = stage.references ?? [null, null]
  return { ...stage, references: pane === 0 ? [reference, right] : [left, reference] }
}
