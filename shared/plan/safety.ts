import type { BodyPart, DrillText } from '../contract/drill.ts'

/**
 * Words that go with every drill. Facts: low-back pain is 18 to 54 % of golf ailments (Lindsay & Vandervoort 2014); a full
 * swing needs about 3 m clear each way, more for a driver, camera and people outside the arc (common practice, no source).
 */
export const notMedical = 'This is coaching, not medical advice. Warm up first, begin slowly, and stop at the first pain.'
export const clearSpace = 'Keep about 3 m clear on every side, more with a driver, and the phone and other people out of the club’s arc and the ball’s way.'

export const partWords: Readonly<Record<BodyPart, string>> = {
  neck: 'neck', shoulder: 'shoulders', elbow: 'elbows', wrist: 'wrists', hand: 'hands', back: 'back', hip: 'hips', knee: 'knees', ankle: 'ankles',
}

/** `back, hips and knees`. */
export function listWords(words: readonly string[]): string {
  return words.length < 2 ? (words[0] ?? '') : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`
}

const askFirst = (parts: readonly BodyPart[], what: string): string =>
  `${what} the ${listWords(parts.map((part) => partWords[part]))}: with a history there, ask a doctor or physiotherapist before you begin.`

/** What to mind with one drill, a sentence each. */
export function safetyOf({ loads, swing }: Pick<DrillText, 'loads' | 'swing'>): readonly string[] {
  return [notMedical, ...(loads.length > 0 ? [askFirst(loads, 'It loads')] : []), ...(swing === 'none' ? [] : [clearSpace])]
}

/** The same for several drills together, each thing said once. */
export function safetyOfAll(cards: readonly Pick<DrillText, 'loads' | 'swing'>[]): readonly string[] {
  if (cards.length === 0) return []
  const loads = [...new Set(cards.flatMap((card) => card.loads))]
  return [notMedical, ...(loads.length > 0 ? [askFirst(loads, cards.length > 1 ? 'These drills load' : 'It loads')] : []), ...(cards.some((card) => card.swing !== 'none') ? [clearSpace] : [])]
}

/** How a part of the body may be called in a note about injuries. Whole words, in lower case. */
const called: Readonly<Record<BodyPart, RegExp>> = {
  neck: /\b(neck|cervical|whiplash)\b/,
  shoulder: /\b(shoulders?|rotator|cuff|collar ?bone|clavicle)\b/,
  elbow: /\b(elbows?|epicondyl\w*|forearms?)\b/,
  wrist: /\b(wrists?|carpal|scaphoid)\b/,
  hand: /\b(hands?|fingers?|thumbs?|knuckles?)\b/,
  back: /\b(back|spine|spinal|lumbar|dis[ck]s?|sciatic\w*|hernia\w*|vertebra\w*)\b/,
  hip: /\b(hips?|groin|pelvi[sc])\b/,
  knee: /\b(knees?|menisc\w*|cruciate|patella\w*|acl|kneecaps?)\b/,
  ankle: /\b(ankles?|foot|feet|heels?|toes?|achilles|plantar)\b/,
}

/** Parts of the body that a note about injuries names. It only finds words: what they mean is the coach's to judge. */
export const partsNamed = (injuries: string): readonly BodyPart[] =>
  (Object.keys(called) as BodyPart[]).filter((part) => called[part].test(injuries.toLowerCase()))

/** Parts that a drill loads and a student's note names. */
export function partsToMind(loads: readonly BodyPart[], injuries: string): readonly BodyPart[] {
  const named = new Set(partsNamed(injuries))
  return loads.filter((part) => named.has(part))
}
