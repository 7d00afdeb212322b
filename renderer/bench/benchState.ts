import { createStore, type StoreApi } from 'zustand/vanilla'
import type { Swing } from '../../shared/contract/student.ts'
import type { Settings } from '../../shared/contract/operations.ts'
import type { Ink, Mark, Marks, Meaning, Shape } from '../../shared/markup/mark.ts'
import type { ToolName } from '../../shared/markup/tools/index.ts'
import type { PaneId, Stage } from '../../shared/walkthrough/stage.ts'
import type { PaneState } from '../playback/stageView.ts'
import type { Saving } from './marksSaver.ts'
import type { Peg } from './strip/pegs.ts'

/** What a new mark looks like. */
export interface MarkStyle {
  readonly ink: Ink
  readonly weight: number
  readonly dashed: boolean
}
export type SpanKind = 'frame' | 'span' | 'clip'

/** Words that are being written onto the picture: a new text, or the words of a mark that is there. */
export interface Writing {
  readonly mark: Mark
  readonly isNew: boolean
}

/** What the room shows in React. It changes at a key or a click, never while the playhead moves. */
export interface BenchState {
  /** What is being fetched, in words. */
  readonly opening: string | null
  readonly fault: { readonly message: string; readonly remedy: string | null } | null
  readonly swing: Swing | null
  readonly clipIds: readonly [string | null, string | null]
  readonly layout: Stage['layout']
  readonly active: PaneId
  readonly isTied: boolean
  readonly isPlaying: boolean
  /** Whether something stands beside a pane or over it. */
  readonly hasReference: boolean
  /** What stood beside these clips last, and can be had again; null for nothing. */
  readonly keptBeside: string | null
  readonly mirror: readonly [boolean, boolean]
  readonly isZoomed: readonly [boolean, boolean]
  readonly marks: Marks
  readonly paneStates: readonly [PaneState, PaneState]
  readonly tool: ToolName | 'pointer'
  readonly meaning: Meaning | null
  readonly style: MarkStyle
  readonly spanKind: SpanKind
  readonly selected: string | null
  readonly writing: Writing | null
  /** Where the palette stands open, in CSS pixels of the stage. */
  readonly palette: { readonly x: number; readonly y: number } | null
  readonly paletteStands: Settings['palette']
  readonly saving: Saving
  readonly canUndo: boolean
  readonly canRedo: boolean
  /** Where a loop begins whose end is still to be set. */
  readonly loopStart: { readonly pane: PaneId; readonly frame: number } | null
  /** Positions of the swing, as pegs on the strips. */
  readonly pegs: readonly Peg[]
}

export const plainStyle: MarkStyle = { ink: 'plain', weight: 4, dashed: false }
export const noMarks: Marks = {}

export const createBenchState = (): StoreApi<BenchState> => createStore<BenchState>()(() => ({
  opening: null, fault: null, swing: null, clipIds: [null, null], layout: 'twin', active: 0, isTied: false, isPlaying: false, hasReference: false, keptBeside: null,
  mirror: [false, false], isZoomed: [false, false], marks: noMarks, paneStates: [{ kind: 'empty' }, { kind: 'empty' }],
  tool: 'select', meaning: null, style: plainStyle, spanKind: 'span', selected: null, writing: null, palette: null,
  paletteStands: 'at-pointer', saving: { state: 'saved', error: null }, canUndo: false, canRedo: false, loopStart: null, pegs: [],
}))

/** The parts of the room's state that follow from the stage; the same objects where nothing changed. */
export function fromStage(stage: Stage, before: BenchState): Partial<BenchState> {
  const pair = <T,>(make: (pane: Stage['panes'][0]) => T, old: readonly [T, T]): readonly [T, T] => {
    const next = [make(stage.panes[0]), make(stage.panes[1])] as const
    return next[0] === old[0] && next[1] === old[1] ? old : next
  }
  const next: Partial<BenchState> = {
    layout: stage.layout, active: stage.active, isTied: stage.tie !== null, isPlaying: stage.motion !== null, hasReference: stage.references?.some((one) => one !== null) ?? false, marks: stage.marks,
    clipIds: pair((pane) => pane.clipId, before.clipIds),
    mirror: pair((pane) => pane.mirror, before.mirror),
    isZoomed: pair((pane) => pane.zoom > 1, before.isZoomed),
  }
  return Object.fromEntries(Object.entries(next).filter(([key, value]) => before[key as keyof BenchState] !== value))
}

/** Meanings and plain shapes with the letter that chooses each in the open palette. */
export const meaningKeys: readonly (readonly [string, Meaning])[] = [
  ['h', 'head-box'], ['b', 'body-line'], ['s', 'shaft-line'], ['e', 'elbow-line'], ['l', 'arm-level'], ['c', 'turn-centre'], ['p', 'path'], ['f', 'face-line'],
]
export const shapeKeys: readonly (readonly [string, Shape, string])[] = [
  ['l', 'line', 'Line'], ['s', 'segment', 'Segment'], ['a', 'arrow', 'Arrow'], ['b', 'box', 'Box'], ['c', 'circle', 'Circle'], ['d', 'dot', 'Dot'],
  ['n', 'angle', 'Angle'], ['p', 'polyline', 'Polyline'], ['f', 'freehand', 'Freehand'], ['t', 'text', 'Text'],
]
