import { positionNames } from '../../../shared/contract/pointsFile.ts'
import { positionTitle } from '../../../shared/swing/digitised.ts'
import type { KeyBinding } from '../../ui/keys.ts'
import type { MeasuredMarks } from './measuredMarks.ts'
import type { Measuring } from './measuring.ts'
import type { MeasuringPointer } from './measuringPointer.ts'
import { makeFinding } from './makeFinding.ts'
import type { Placer } from './placer.ts'
import { positionDigit } from './positionLines.ts'
import type { SoundTie } from './soundTie.ts'

/** The keys of measuring; they go before those of the marks while points are placed. */
export function measuringKeys(measuring: Measuring, placer: Placer, marks: MeasuredMarks, sound: SoundTie, pointer: () => MeasuringPointer | null): KeyBinding[] {
  const scope = 'bench'
  const group = 'Measuring'
  const placing = 'While points are placed'
  const state = () => measuring.state.getState()
  const isOn = (): boolean => state().task !== null
  const hasChosen = (): boolean => isOn() && measuring.chosen !== null
  const hasMovable = (): boolean => isOn() && state().chosen !== null
  const nudge = (dx: number, dy: number) => (): void => placer.nudge(dx, dy)
  const chord = (kind: 'go-to' | 'set') => (): void => measuring.state.setState(({ chord: now }) => ({ chord: now === kind ? null : kind }))
  const step = (by: 1 | -1) => (): void => {
    const pane = measuring.bench.active
    const now = measuring.tickShown(pane)
    const known = positionNames.flatMap((name) => measuring.positionTick(pane, name) ?? []).toSorted((a, b) => a - b)
    const to = now === null ? undefined : by > 0 ? known.find((tick) => tick > now) : known.findLast((tick) => tick < now)
    if (to !== undefined) measuring.bench.transport.seek(pane, to)
  }
  const digits = { id: 'position-digits', from: '1', to: '0', words: 'After K or L: the position of that digit, from address to finish' }
  const shiftDigits = { id: 'between-digits', from: 'Shift+1', to: 'Shift+0', words: 'After L: the position lies between this frame and the next' }
  return [
    { id: 'evidence', keys: 'v', words: 'Evidence: what was measured, or not', scope, group, run: () => placer.toggleEvidence() },
    { id: 'place-points', keys: 'a', words: 'Place the points of this position, or put them away', scope, group, run: () => placeHere(measuring, placer) },
    { id: 'position-go', keys: 'k', words: 'Go to a position: then its digit', scope, group, run: chord('go-to') },
    { id: 'position-set', keys: 'l', words: 'This frame is a position: then its digit (with Shift: between this frame and the next)', scope, group, run: chord('set') },
    { id: 'lines-of-address', keys: 'z', words: 'Shaft line, elbow line and head box from the points of address', scope, group, run: () => marks.lines() },
    { id: 'degrees', keys: ';', words: 'Degrees of the chosen line or angle, with their error', scope, group, run: () => marks.degrees() },
    { id: 'finding', keys: 'Shift+f', words: 'Make a finding of the measure at hand, the chosen mark, or this frame', scope, group, run: () => void makeFinding(measuring) },
    { id: 'tie-by-sound', keys: 'Shift+l', words: 'Listen for impact in both clips and tie them by it', scope, group, run: () => void sound.listen() },
    { id: 'position-next', keys: 'y', words: 'To the next position', scope, group, run: step(1) },
    { id: 'position-before', keys: 'Shift+y', words: 'To the position before', scope, group, run: step(-1) },
    ...positionNames.flatMap((name, i): KeyBinding[] => {
      const digit = positionDigit(i)
      const act = (falls: 'on' | 'between') => (): void => {
        const { chord: kind } = state()
        measuring.state.setState({ chord: null })
        if (kind === 'go-to') {
          if (!measuring.goTo(name)) measuring.refuse(`${positionTitle(name)} is not known on this clip: go to its frame and press L, then ${digit}.`)
        } else {
          measuring.setPosition(name, falls)
          placer.replan()
        }
      }
      return [
        { id: `position-${name}`, keys: digit, words: `After K or L: ${positionTitle(name)}`, row: digits, scope, group, when: () => state().chord !== null, run: act('on') },
        { id: `between-${name}`, keys: `Shift+${digit}`, words: `After L: ${positionTitle(name)}, between this frame and the next`, row: shiftDigits, scope, group, when: () => state().chord === 'set', run: act('between') },
      ]
    }),
    { id: 'position-none', keys: 'Escape', words: 'No position after all', scope, group, when: () => state().chord !== null, run: () => measuring.state.setState({ chord: null }) },

    { id: 'place-here', keys: 'Enter', words: 'Place the point under the pointer', scope, group: placing, when: isOn, run: () => pointer()?.placeHere() },
    { id: 'step-skip', keys: '.', words: 'Skip this point', scope, group: placing, when: isOn, run: () => placer.move(1) },
    { id: 'step-back', keys: ',', words: 'Back to the point before', scope, group: placing, when: isOn, run: () => placer.move(-1) },
    { id: 'place-again', keys: 'r', words: 'Place the chosen point three times, to learn your error', scope, group: placing, when: hasChosen, run: () => placer.repeat() },
    { id: 'point-left', keys: 'Alt+ArrowLeft', words: 'Move the chosen point, or end of a guide, a pixel left', scope, group: placing, repeats: true, when: hasMovable, run: nudge(-1, 0) },
    { id: 'point-right', keys: 'Alt+ArrowRight', words: 'Move the chosen point, or end of a guide, a pixel right', scope, group: placing, repeats: true, when: hasMovable, run: nudge(1, 0) },
    { id: 'point-up', keys: 'Alt+ArrowUp', words: 'Move the chosen point, or end of a guide, a pixel up', scope, group: placing, repeats: true, when: hasMovable, run: nudge(0, -1) },
    { id: 'point-down', keys: 'Alt+ArrowDown', words: 'Move the chosen point, or end of a guide, a pixel down', scope, group: placing, repeats: true, when: hasMovable, run: nudge(0, 1) },
    { id: 'point-delete', keys: ['Delete', 'Backspace'], words: 'Delete the chosen point or guide', scope, group: placing, when: () => isOn() && state().chosen !== null, run: () => placer.remove() },
    {
      id: 'placing-escape', keys: 'Escape', words: 'Give up the point in hand; choose nothing; put the points away', scope, group: placing, when: () => isOn() && state().chord === null,
      run: () => (pointer()?.isBusy ? pointer()!.cancel() : placer.escape()),
    },
    { id: 'listening-stop', keys: 'Escape', words: 'Stop listening', scope, group, when: () => sound.isOn, run: () => sound.stop() },
  ]
}

/** Begins with all points of the position that the active pane stands at or last passed; ends what is under way. */
export function placeHere(measuring: Measuring, placer: Placer): void {
  if (placer.isOn) return placer.stop()
  const pane = measuring.bench.active
  const now = measuring.tickShown(pane)
  const passed = now === null ? undefined : positionNames.findLast((name) => (measuring.positionTick(pane, name) ?? Infinity) <= now)
  placer.choose({ kind: 'position', name: passed ?? 'address' })
}
