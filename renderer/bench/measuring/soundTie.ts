import { heardId, type HeardRecord } from '../../../shared/contract/digitising.ts'
import type { ViewName } from '../../../shared/contract/pointsFile.ts'
import { inWords } from '../../../shared/swing/measureWords.ts'
import { tieBySound, usualBallDistance, type HeardImpact, type Listening } from '../../../shared/swing/soundTie.ts'
import { frameAt, tickOf, ticksPerRealSecond } from '../../../shared/walkthrough/motion.ts'
import type { StageClip } from '../../../shared/walkthrough/stage.ts'
import { readSound, type ClipSound } from '../../playback/clipSound.ts'
import { faultOf, tellDone } from '../../ui/notices.ts'
import type { Measuring } from './measuring.ts'

/** How much nearer than the middle of the stance the ball lies to a camera face-on, metres: common practice, no source. */
const ballBefore = 0.9
/** A camera's distance is never taken to be better known than this, metres. */
const leastDistanceSigma = 0.1

/**
 * Ties the two clips by the sound of impact: both are brought to it, what was heard is kept with its error, and what
 * stands in the way is said.
 */
export class SoundTie {
  readonly #measuring: Measuring
  #work: AbortController | null = null

  constructor(measuring: Measuring) {
    this.#measuring = measuring
  }

  get isOn(): boolean {
    return this.#work !== null
  }

  /** Stops listening; nothing has changed. */
  stop(): void {
    this.#work?.abort()
    this.#work = null
    this.#measuring.state.setState({ listening: null })
  }

  /** Listens to both clips and ties them; a second call while it listens stops it. */
  async listen(): Promise<void> {
    if (this.isOn) return this.stop()
    const measuring = this.#measuring
    const { bench } = measuring
    const clips = measuring.measuredClips()
    const work = new AbortController()
    this.#work = work
    measuring.state.setState({ refusal: null, listening: 0 })
    // Another clip on the panes is not what was asked for.
    const leave = bench.state.subscribe((now, before) => { if (now.clipIds !== before.clipIds && !clips.every(({ id }) => now.clipIds.includes(id))) this.stop() })
    try {
      const said = await this.#tie(clips, work.signal)
      if (work.signal.aborted) return
      if ('why' in said) measuring.refuse(said.why)
      else tellDone(said.words)
    } finally {
      leave()
      if (this.#work === work) this.stop()
    }
  }

  async #tie(clips: readonly StageClip[], signal: AbortSignal): Promise<{ readonly words: string } | { readonly why: string }> {
    const measuring = this.#measuring
    const { bench } = measuring
    const [one, two] = clips
    if (!one || !two) return { why: 'A tie by sound needs a clip face-on and one down the line, of one student, side by side.' }
    const shares = [0, 0]
    const progress = (i: number) => (share: number): void => {
      shares[i] = share / 2
      if (!signal.aborted) measuring.state.setState({ listening: shares[0]! + shares[1]! })
    }
    let sounds: readonly (ClipSound | null)[]
    try {
      sounds = await Promise.all([one, two].map((clip, i) => readSound(bench.desk.mediaUrl(`review/${clip.id}.mp4`), signal, progress(i))))
    } catch (error) {
      return { why: `The sound could not be read: ${faultOf(error).message.replace(/\.$/, '')}. Tie by eye instead: both panes at impact, then T.` }
    }
    if (signal.aborted) return { why: '' }
    const names = [one, two].map((clip) => inWords(clip.view)) as [string, string]
    const silent = sounds.findIndex((sound) => sound === null)
    if (silent >= 0) return { why: `The ${names[silent]} clip has no sound, so impact cannot be heard in it. Tie by eye instead: both panes at impact, then T.` }
    const tie = tieBySound(listening(measuring, one, sounds[0]!), listening(measuring, two, sounds[1]!), names)
    if ('why' in tie) return { why: `${tie.why} Tie by eye instead: both panes at impact, then T.` }
    const at = [tickAt(one, sounds[0]!, tie.first), tickAt(two, sounds[1]!, tie.second)] as const
    const outside = [one, two].findIndex((clip, i) => at[i]! < clip.frames.ticks[0]! || at[i]! >= clip.frames.endTick)
    if (outside >= 0) return { why: `The sharpest sound of the ${names[outside]} clip lies outside its picture. Tie by eye instead: both panes at impact, then T.` }
    const heard = [one, two].map((clip, i): HeardRecord => ({
      kind: 'heard', id: heardId(clip.id), clipId: clip.id, at: at[i]!, sigmaS: [tie.first, tie.second][i]!.sigma, by: 'program',
    }))
    if (!measuring.change(heard)) return { why: measuring.state.getState().refusal ?? '' }
    const isSwapped = bench.clip(0)?.id !== one.id
    const own = isSwapped ? { left: at[1], right: at[0] } : { left: at[0], right: at[1] }
    bench.transport.pause()
    bench.dispatch([{ type: 'tie', tie: own }])
    const left = bench.clip(0)!
    bench.transport.seek(0, tickOf(left.frames, frameAt(left.frames, own.left)))
    return { words: inWords(tie.words).replaceAll('+-', '\u00b1') }
  }
}

function listening(measuring: Measuring, clip: StageClip, { samples, rate }: ClipSound): Listening {
  const { outcome } = measuring.state.getState()
  const view = clip.view as ViewName
  // A file that plays slowed down is heard slowed down too.
  const real = (rate * clip.captureRate) / clip.playRate
  const place = outcome.kind === 'measured' ? outcome.result.measures.find((one) => one.id === 'camera-distance' && one.view === view) : undefined
  const usual = usualBallDistance[view]
  const known = place && place.sigma / 1000 < usual.sigma
  return {
    samples, rate: real,
    distanceM: known ? Math.max(0.5, place.value / 1000 - (view === 'face-on' ? ballBefore : 0)) : usual.m,
    distanceSigmaM: known ? Math.max(leastDistanceSigma, place.sigma / 1000) : usual.sigma,
  }
}

/** Seconds of the world from the first sample, as a tick of the clip. */
const tickAt = (clip: StageClip, sound: ClipSound, heard: HeardImpact): number =>
  clip.frames.ticks[0]! + sound.startS * clip.frames.timescale + heard.t * ticksPerRealSecond(clip)
