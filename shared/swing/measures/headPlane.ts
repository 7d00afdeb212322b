import { meetPlane, type Camera } from '../../camera/projection.ts'
import { usualPitchSigma } from '../../camera/level.ts'
import type { PositionName } from '../../contract/pointsFile.ts'
import { bodyPlane, changesBy, usualDepth } from '../bodyDepth.ts'
import { hasSpace, placeInSpace, usualYawSigma, type Swing } from '../reading.ts'
import { usualFocal, type SwingView } from '../viewOf.ts'

/** How far a change of depth that the other view shows is off by its placing, metres, at a pixel or two of error. */
const depthError = 0.003

/** One standard deviation of something unknown, as it moves the whole way: u and v by turns, metres. */
export type Pattern = Float64Array
/** What unknown changes of depth make of nothing, for the places and instants of a way. */
type Parallax = (places: readonly (readonly [u: number, v: number, t: number])[]) => Pattern[]

/** The plane's coordinates of a picture point. */
export type Place = (x: number, y: number, t: number) => readonly [number, number] | null
interface Reader {
  readonly at: Place
  readonly share: (x: number, y: number) => number
  readonly parallax: Parallax
  /** The same through solved cameras with a little of each of their errors added, and taken off. */
  readonly shifted: readonly (readonly [plus: Place, minus: Place])[]
}

/** How a picture point is read, with the depth of the head at each instant where it is known. */
export function headReader(swing: Swing, view: SwingView): Reader | null {
  const { camera } = view
  const faceOn = view.name === 'face-on'
  const usual = usualDepth(view.name, 'head')
  const positions = swing.positions.get(view.name)
  const times = Object.fromEntries(Object.entries(positions ?? {}).map(([name, p]) => [name, p.t.value])) as Partial<Record<PositionName, number>>
  const changed = (t: number): number => changesBy(times, t).reduce((sum, { of, share }) => sum + share * usual.change[of], 0)
  /** How much each unknown change counts by t, metres of depth. */
  const changes = (t: number): Map<PositionName, number> => new Map(changesBy(times, t).map(({ of, source, share }) => [source, share * usual.changeSigma[of]]))
  const patterns = (places: Parameters<Parallax>[0], move: (u: number, v: number) => readonly [number, number]): Pattern[] => {
    const by = places.map(([, , t]) => changes(t))
    return [...new Set(by.flatMap((one) => [...one.keys()]))].map((source) =>
      Float64Array.from(places.flatMap(([u, v], k) => move(u, v).map((part) => part * (by[k]!.get(source) ?? 0)))))
  }
  if (!camera) {
    const s = swing.scales.get(view.name)
    if (!s) return null
    const k = s.metresPerPx
    const cos = Math.cos(view.level.value)
    const sin = Math.sin(view.level.value)
    const distance = usualFocal(view) * k
    const nearer = faceOn ? 1 : -1
    return {
      at: (x, y, t) => {
        const shrink = k * (1 - (nearer * (usual.at + changed(t) - bodyPlane(view.name))) / distance)
        const [right, down] = [x - view.width / 2, y - view.height / 2]
        return [shrink * (cos * right + sin * down), shrink * (sin * right - cos * down)]
      },
      share: () => Math.hypot(s.sigma / k, usual.sigma / distance),
      // Its place against the camera's axis, and how far that is off square, turn a change of depth into a way.
      parallax: (places) => [
        ...patterns(places, (u, v) => [u / distance, v / distance]), ...patterns(places, () => [usualYawSigma, 0]), ...patterns(places, () => [0, usualPitchSigma]),
        Float64Array.from(places.flatMap(([, , t]) => [changed(t) * usualYawSigma, 0])), Float64Array.from(places.flatMap(([, , t]) => [0, changed(t) * usualPitchSigma])),
      ],
      shifted: [],
    }
  }
  const known = hasSpace(swing) && swing.views.every((v) => v.tracks.has('head'))
  const far = Math.abs(camera.place[faceOn ? 2 : 0] - usual.at)
  const through = (seen: Swing, own: Camera): Place => (x, y, t) => {
    const p = known ? placeInSpace(seen, 'head', t) : null
    const q = meetPlane(own, [x, y], faceOn ? [0, 0, 1] : [1, 0, 0], p ? p[faceOn ? 2 : 0] : usual.at + changed(t))
    return q && [faceOn ? q[0] : q[2], q[1]]
  }
  const index = swing.views.indexOf(view)
  const shiftedBy = (cameras: readonly Camera[]): Place => through({ ...swing, views: swing.views.map((v, i) => ({ ...v, camera: cameras[i]! })) }, cameras[index]!)
  return {
    at: through(swing, camera),
    shifted: (swing.solved.errors?.shifted ?? []).map(([plus, minus]) => [shiftedBy(plus), shiftedBy(minus)] as const),
    share: () => (known ? 0 : usual.sigma / far),
    parallax: (places) => {
      const move = (u: number, v: number) => [(u - camera.place[faceOn ? 0 : 2]) / far, (v - camera.place[1]) / far] as const
      return known ? [Float64Array.from(places.flatMap(([u, v]) => move(u, v).map((part) => part * depthError)))] : patterns(places, move)
    },
  }
}
