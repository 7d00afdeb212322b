import type { KeyBinding } from '../../ui/keys.ts'
import type { Comparison } from './comparison.ts'

/** The keys of a comparison. Digits wait while a position's digit is asked for. */
export function compareKeys(comparison: Comparison): KeyBinding[] {
  const scope = 'bench'
  const group = 'Beside a reference'
  const { bench, measuring, state } = comparison
  const isOn = (): boolean => comparison.isOn && measuring.state.getState().chord === null
  const key = (id: string, keys: KeyBinding['keys'], words: string, run: () => void, more: Partial<KeyBinding> = {}): KeyBinding => ({ id, keys, words, scope, group, when: isOn, run, ...more })
  return [
    { id: 'set-beside', keys: 'q', words: 'Set a reference, or another swing, beside this one; Enter takes the first', scope, group, run: () => comparison.choose(true) },
    { id: 'beside-again', keys: 'Shift+r', words: 'What stood beside this swing last, as it was', scope, group, when: () => !comparison.isOn && bench.state.getState().keptBeside !== null, run: () => comparison.kept.again() },
    key('differences', 'Shift+v', 'Differences as numbers, or not', () => comparison.toggleDifferences()),
    key('next-look', 'Shift+q', 'Beside, ghost or wipe', () => comparison.nextLook()),
    key('less-reference', '8', 'Less of the reference; a wipe moves right', () => comparison.showMore(-0.1), { repeats: true }),
    key('more-reference', '9', 'More of the reference; a wipe moves left', () => comparison.showMore(0.1), { repeats: true }),
    key('reference-skeleton', '5', 'Skeletons, or not', () => comparison.toggle('skeleton')),
    key('reference-shaft', 'Shift+5', "The reference's shaft path, or not", () => comparison.toggle('shaft')),
    key('reference-traces', '6', 'Hand and clubhead paths of both, or not', () => comparison.toggle('traces')),
    key('reference-picture', 'Shift+6', "The reference's picture in a ghost, or not", () => comparison.toggle('picture')),
    key('reference-marks', 'Shift+9', 'What was drawn on the reference, or not', () => comparison.toggle('marked')),
    key('reference-aligned', '7', 'Laid over the student, or as it was filmed', () => comparison.toggle('aligned')),
    key('next-anchor', 'Shift+7', 'Aligned on ball, feet, pelvis or shoulders', () => comparison.nextAnchor()),
    key('next-size', 'Shift+8', 'Same size by stature, true size, trunk, arm, leg or club', () => comparison.nextSize()),
    key('tie-reference', 'Shift+t', 'Tied by positions, or by real time from here', () => (state.getState().tieBy === 'positions' ? comparison.tieByTime() : comparison.tieByPositions())),
    key('slip-back', ['{', 'Shift+PageUp'], 'Move the reference a frame back against the student', () => comparison.slip(bench.active, -1), { repeats: true }),
    key('slip-on', ['}', 'Shift+PageDown'], 'Move the reference a frame on against the student', () => comparison.slip(bench.active, 1), { repeats: true }),
    key('take-reference-away', 'Shift+Backspace', 'Take the reference away', () => comparison.remove()),
  ]
}
