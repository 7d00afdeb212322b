import { playRates } from '../playback/index.ts'
import type { KeyBinding } from '../ui/keys.ts'
import type { Bench } from './bench.ts'
import type { Drawing } from './drawing.ts'
import type { StagePointer } from './stagePointer.ts'
import type { TwinStrip } from './strip/twinStrip.ts'

/** What the keys reach that is there only while the room is on the page. */
export interface Hands {
  pointer: StagePointer | null
  strip: TwinStrip | null
  /** Opens the list of what can be set beside the student's swing. */
  setBeside: (() => void) | null
  /** Sets beside it again what stood there last. */
  setBesideAgain: (() => void) | null
}

/** Every key of the room; the sheet of keys is made from this list. */
export function benchKeys(bench: Bench, drawing: Drawing, hands: () => Hands): KeyBinding[] {
  const { transport } = bench
  const scope = 'bench'
  const step = (frames: number) => (): void => transport.step(bench.active, frames)
  const last = (): number => (bench.clip(bench.active)?.frames.ticks.length ?? 1) - 1
  const nudge = (dx: number, dy: number) => (): void => bench.marks.nudgeMark(dx, dy)
  const zoom = (factor: number) => (): void => bench.zoom(bench.active, factor)
  const pan = (dx: number, dy: number) => (): void => bench.pan(bench.active, dx, dy)
  const time = 'Playing'
  const panes = 'Panes'
  const marks = 'Marks'
  return [
    {
      id: 'play', keys: 'Space', words: 'Play or pause; held while dragging, moves the picture', scope, group: time,
      run: () => {
        const { pointer } = hands()
        if (!pointer) return transport.toggle(bench.active)
        pointer.holdsPan = true
        pointer.hasPanned = false
      },
      released: () => {
        const { pointer } = hands()
        if (!pointer) return
        pointer.holdsPan = false
        if (!pointer.hasPanned) transport.toggle(bench.active)
      },
    },
    { id: 'play-both', keys: 'Shift+Space', words: 'Play both panes, tied or not', scope, group: time, run: () => transport.toggle('both') },
    { id: 'back', keys: 'ArrowLeft', words: 'Back one frame', scope, group: time, repeats: true, run: step(-1) },
    { id: 'on', keys: 'ArrowRight', words: 'On one frame', scope, group: time, repeats: true, run: step(1) },
    { id: 'back-10', keys: 'Shift+ArrowLeft', words: 'Back ten frames', scope, group: time, repeats: true, run: step(-10) },
    { id: 'on-10', keys: 'Shift+ArrowRight', words: 'On ten frames', scope, group: time, repeats: true, run: step(10) },
    { id: 'first-frame', keys: 'Home', words: 'First frame', scope, group: time, run: () => transport.seekFrame(bench.active, 0) },
    { id: 'last-frame', keys: 'End', words: 'Last frame', scope, group: time, run: () => transport.seekFrame(bench.active, last()) },
    ...playRates.map((rate, i): KeyBinding => ({ id: `rate-${i}`, keys: String(i + 1), words: `Play at ${['an eighth of', 'a quarter of', 'half', 'full'][i]} speed`, scope, group: time, run: () => transport.setRate(rate) })),
    { id: 'loop-in', keys: 'i', words: 'Loop from this frame', scope, group: time, run: () => bench.loopIn() },
    { id: 'loop-out', keys: 'o', words: 'Loop to this frame', scope, group: time, run: () => bench.loopOut() },
    { id: 'loop-none', keys: 'u', words: 'No loop', scope, group: time, run: () => bench.clearLoop() },
    { id: 'strip-in', keys: 'Shift+ArrowUp', words: 'Strip: closer', scope, group: time, repeats: true, run: () => hands().strip?.zoom(1.5) },
    { id: 'strip-out', keys: 'Shift+ArrowDown', words: 'Strip: farther', scope, group: time, repeats: true, run: () => hands().strip?.zoom(1 / 1.5) },
    { id: 'strip-fit', keys: 'Shift+Home', words: 'Strip: the whole of both clips', scope, group: time, run: () => hands().strip?.fit() },

    { id: 'other-pane', keys: 'x', words: 'To the other pane', scope, group: panes, run: () => bench.toOther() },
    { id: 'tie', keys: 't', words: 'Tie the two frames shown, or untie', scope, group: panes, run: () => bench.toggleTie() },
    { id: 'nudge-back', keys: ['[', 'PageUp'], words: 'Nudge this pane a frame back against the other', scope, group: panes, repeats: true, run: () => bench.nudge(-1) },
    { id: 'nudge-on', keys: [']', 'PageDown'], words: 'Nudge this pane a frame on against the other', scope, group: panes, repeats: true, run: () => bench.nudge(1) },
    { id: 'swap', keys: 'Shift+x', words: 'Swap the panes', scope, group: panes, run: () => transport.swap() },
    { id: 'single', keys: 's', words: 'One pane alone, or both', scope, group: panes, run: () => bench.toggleLayout() },
    { id: 'mirror', keys: 'm', words: 'Mirror this pane', scope, group: panes, run: () => bench.toggleMirror() },
    { id: 'zoom-in', keys: ['+', '='], words: 'Closer', scope, group: panes, repeats: true, run: zoom(1.25) },
    { id: 'zoom-out', keys: '-', words: 'Farther', scope, group: panes, repeats: true, run: zoom(1 / 1.25) },
    { id: 'fit', keys: '0', words: 'The whole picture', scope, group: panes, run: () => bench.fit() },
    { id: 'pan-left', keys: 'Mod+ArrowLeft', words: 'Look farther left', scope, group: panes, repeats: true, run: pan(40, 0) },
    { id: 'pan-right', keys: 'Mod+ArrowRight', words: 'Look farther right', scope, group: panes, repeats: true, run: pan(-40, 0) },
    { id: 'pan-up', keys: 'Mod+ArrowUp', words: 'Look farther up', scope, group: panes, repeats: true, run: pan(0, 40) },
    { id: 'pan-down', keys: 'Mod+ArrowDown', words: 'Look farther down', scope, group: panes, repeats: true, run: pan(0, -40) },
    {
      id: 'point', keys: 'p', words: 'Point, for as long as it is held; recorded', scope, group: panes,
      run: () => hands().pointer?.point(true), released: () => hands().pointer?.point(false),
    },
    { id: 'keep-pointing', keys: 'Shift+p', words: 'Point until Esc', scope, group: panes, run: () => bench.takeTool('pointer') },

    { id: 'palette', keys: 'd', words: 'What to draw: opens at the pointer; D again for plain shapes', scope, group: marks, run: () => hands().pointer?.openPalette() },
    { id: 'dock', keys: 'Shift+d', words: 'Palette docked, or at the pointer', scope, group: marks, run: () => bench.togglePalette() },
    { id: 'end-shape', keys: 'Enter', words: 'Finish a polyline', scope, group: marks, when: () => drawing.isBusy, run: () => drawing.key('Enter') },
    { id: 'point-off', keys: 'Backspace', words: 'Take the last point off', scope, group: marks, when: () => drawing.isBusy, run: () => drawing.key('Backspace') },
    { id: 'give-up', keys: 'Escape', words: 'Give up the mark in the making; put the tool away; choose nothing', scope, group: marks, run: () => bench.escape(drawing) },
    { id: 'next-mark', keys: 'j', words: 'Choose the next mark and go to it', scope, group: marks, run: () => bench.marks.cycle(1) },
    { id: 'mark-before', keys: 'Shift+j', words: 'Choose the mark before', scope, group: marks, run: () => bench.marks.cycle(-1) },
    { id: 'mark-left', keys: 'Alt+ArrowLeft', words: 'Move the mark a pixel left', scope, group: marks, repeats: true, run: nudge(-1, 0) },
    { id: 'mark-right', keys: 'Alt+ArrowRight', words: 'Move the mark a pixel right', scope, group: marks, repeats: true, run: nudge(1, 0) },
    { id: 'mark-up', keys: 'Alt+ArrowUp', words: 'Move the mark a pixel up', scope, group: marks, repeats: true, run: nudge(0, -1) },
    { id: 'mark-down', keys: 'Alt+ArrowDown', words: 'Move the mark a pixel down', scope, group: marks, repeats: true, run: nudge(0, 1) },
    { id: 'mark-left-10', keys: 'Alt+Shift+ArrowLeft', words: 'Move the mark ten pixels left', scope, group: marks, repeats: true, run: nudge(-10, 0) },
    { id: 'mark-right-10', keys: 'Alt+Shift+ArrowRight', words: 'Move the mark ten pixels right', scope, group: marks, repeats: true, run: nudge(10, 0) },
    { id: 'mark-up-10', keys: 'Alt+Shift+ArrowUp', words: 'Move the mark ten pixels up', scope, group: marks, repeats: true, run: nudge(0, -10) },
    { id: 'mark-down-10', keys: 'Alt+Shift+ArrowDown', words: 'Move the mark ten pixels down', scope, group: marks, repeats: true, run: nudge(0, 10) },
    { id: 'ink', keys: 'n', words: 'Next ink', scope, group: marks, run: () => bench.marks.nextInk(1) },
    { id: 'ink-before', keys: 'Shift+n', words: 'Ink before', scope, group: marks, run: () => bench.marks.nextInk(-1) },
    { id: 'thicker', keys: 'w', words: 'Thicker', scope, group: marks, repeats: true, run: () => bench.marks.heavier(1) },
    { id: 'thinner', keys: 'Shift+w', words: 'Thinner', scope, group: marks, repeats: true, run: () => bench.marks.heavier(-1) },
    { id: 'dashed', keys: 'g', words: 'Dashed, or drawn through', scope, group: marks, run: () => bench.marks.restyle({ dashed: !bench.marks.style.dashed }) },
    { id: 'span', keys: 'f', words: 'On this frame, for a while, in the whole clip', scope, group: marks, run: () => bench.marks.nextSpan() },
    { id: 'span-from', keys: ',', words: 'The mark shows from here on', scope, group: marks, run: () => bench.marks.setSpanEnd('from') },
    { id: 'span-to', keys: '.', words: 'The mark shows up to here', scope, group: marks, run: () => bench.marks.setSpanEnd('to') },
    { id: 'caption', keys: 'e', words: "Write the mark's caption or words", scope, group: marks, run: () => { if (bench.marks.selected) drawing.write(bench.marks.selected) } },
    { id: 'copy-across', keys: 'c', words: 'Copy the mark to the other pane', scope, group: marks, run: () => bench.marks.duplicate() },
    { id: 'hide', keys: 'h', words: 'Hide the mark, or show it', scope, group: marks, run: () => { if (bench.marks.selected) bench.marks.change({ hidden: !bench.marks.selected.hidden }) } },
    { id: 'hide-all', keys: 'Shift+h', words: 'Hide all marks of this pane, or show them', scope, group: marks, run: () => bench.marks.toggleAll() },
    { id: 'delete', keys: ['Delete', 'Backspace'], words: 'Delete the mark', scope, group: marks, when: () => !drawing.isBusy, run: () => { if (bench.marks.selected) bench.marks.remove([bench.marks.selected.id]) } },
    { id: 'clear', keys: 'Shift+Delete', words: 'Clear all marks of this pane', scope, group: marks, run: () => bench.marks.clearPane() },
    { id: 'undo', keys: 'Mod+z', words: 'Undo', scope, group: marks, repeats: true, run: () => undoWith(drawing, () => bench.marks.undo()) },
    { id: 'redo', keys: ['Mod+Shift+z', 'Mod+y'], words: 'Redo', scope, group: marks, repeats: true, run: () => undoWith(drawing, () => bench.marks.redo()) },
  ]
}

/** Undoing while something is in the making takes that back first. */
function undoWith(drawing: Drawing, act: () => void): void {
  if (drawing.isBusy) drawing.cancel()
  else act()
}
