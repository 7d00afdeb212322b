import type { Handedness } from '../../contract/clip.ts'
import type { ViewName } from '../../contract/pointsFile.ts'
import { positionTitle } from '../digitised.ts'
import { otherHand, type Sides, type SidesFault } from './sides.ts'

/** How an instant of a view's own clock is told: as seconds, or as a frame. */
export type TellInstant = (view: ViewName, t: number) => string
const inSeconds: TellInstant = (_, t) => `${t.toFixed(3)} s`

const viewTitle = (view: ViewName): string => (view === 'face-on' ? 'Face-on' : 'Down the line')
const list = (words: readonly string[]): string => (words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} and ${words.at(-1)!}`)
const plural = { Shoulder: 'shoulders', Elbow: 'elbows', Wrist: 'wrists', Hip: 'hips', Knee: 'knees', Ankle: 'ankles' } as const

/** One sentence about a fault. */
export function sidesSentence(fault: SidesFault, hand: Handedness, tell: TellInstant = inSeconds): string {
  const where = viewTitle(fault.view)
  if (fault.kind === 'hand') {
    const how = fault.view === 'face-on' ? 'the hands go back to the other side' : 'the club is on the other side of the feet'
    return `${where} the points show a ${otherHand(hand)}-handed swing (${how}), but it is said to be ${hand}-handed: put the handedness right, or say that the clip was filmed mirrored, unless the view is another.`
  }
  const what = list(fault.pairs.map((pair) => plural[pair]))
  const when = fault.isThroughout ? 'throughout' : fault.at.length > 0
    ? `at ${list(fault.at.map((name) => positionTitle(name).replace(',', '')))}`
    : list(fault.stretches.map(({ from, to }) => (from === to ? `at ${tell(fault.view, from)}` : `from ${tell(fault.view, from)} to ${tell(fault.view, to)}`)))
  const unless = fault.pairs.length === 1 && fault.pairs[0] === 'Wrist' && fault.at.length > 0 ? ', unless the trail hand is the upper one on the grip' : ''
  return `${where} lead and trail of the ${what} are the wrong way round ${when} for a ${hand}-handed swing: exchange them${unless}.`
}

/** Why two views cannot be read together: they show players of different hands; null where they may be of one. */
export function handsDisagree({ hands }: Sides): string | null {
  const [front, line] = [hands['face-on'], hands['down-the-line']]
  return front && line && front !== line
    ? `The two views disagree on handedness: the points face-on show a ${front}-handed swing, those down the line a ${line}-handed one. A clip may have been filmed mirrored.`
    : null
}

/** One sentence, and the fault that it tells of; null where it tells of both views. */
export interface SidesWarning {
  readonly words: string
  readonly fault: SidesFault | null
}

/** All that is wrong with the sides, a sentence each; two views that show the same other hand take one. */
export function sidesWarnings(sides: Sides, hand: Handedness, tell?: TellInstant): SidesWarning[] {
  const disagree = handsDisagree(sides)
  const rest = sides.faults.filter(({ kind }) => !(disagree && kind === 'hand'))
  const hands = rest.filter(({ kind }) => kind === 'hand')
  const told = hands.length > 1 ? rest.filter((fault) => fault !== hands[1]) : rest
  return [...(disagree ? [{ words: disagree, fault: null }] : []), ...told.map((fault) => ({ words: sidesSentence(fault, hand, tell), fault }))]
}

export const sidesSentences = (sides: Sides, hand: Handedness, tell?: TellInstant): string[] => sidesWarnings(sides, hand, tell).map(({ words }) => words)
