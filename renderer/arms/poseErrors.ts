import { forward } from '../../shared/arms/forward.ts'
import { createArms, type ArmsModel } from '../../shared/arms/model.ts'
import { isArmsRefusal, type ArmsPose, type FitResult, type JointName, type Readings, type Side } from '../../shared/arms/types.ts'
import { seededRandom } from '../../shared/signal/random.ts'

export type ReadingName = keyof Readings
export type JointKey = `${Side} ${JointName}`

/** One standard deviation of each reading and joint angle, degrees or centimetres; null where it cannot be told. */
export interface PoseSigmas {
  readonly readings: Readonly<Record<ReadingName, number | null>>
  readonly joints: Readonly<Record<JointKey, number>>
}

/** Errors of a filmed body's poses, from draws of the whole body by the fit's own covariance. */
export interface PoseErrors {
  /** At the filmed elbow moved along its arc by so many degrees; the same draws each time. Null where too few draws hold there. */
  at(swivelChange: number): PoseSigmas | null
}

const draws = 32
const fewest = 12

export function createPoseErrors(fit: FitResult): PoseErrors {
  let models: readonly ArmsModel[] | null = null
  const drawn = (): readonly ArmsModel[] => {
    const random = seededRandom(2)
    return Array.from({ length: draws }, () => createArms(fit.draw(random))).flatMap((model) => (isArmsRefusal(model) ? [] : [model]))
  }
  return {
    at(swivelChange) {
      models ??= drawn()
      const poses = models.flatMap((model) => {
        const pose = forward(model, model.swivelDeg + swivelChange)
        return isArmsRefusal(pose) ? [] : [pose]
      })
      return poses.length < fewest ? null : sigmasOf(poses)
    },
  }
}

function sigmasOf(poses: readonly ArmsPose[]): PoseSigmas {
  const of = (read: (pose: ArmsPose) => number | null): number | null => {
    const values = poses.map(read).filter((value) => value !== null)
    if (values.length < fewest) return null
    // Angles about the first, so that a half turn's jump is none.
    const first = values[0]!
    const near = values.map((value) => value - first - 360 * Math.round((value - first) / 360))
    const mean = near.reduce((sum, value) => sum + value, 0) / near.length
    return Math.sqrt(near.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (near.length - 1))
  }
  const { readings, lead } = poses[0]!
  const names = Object.keys(readings) as ReadingName[]
  const joints = Object.keys(lead.angles) as JointName[]
  return {
    readings: Object.fromEntries(names.map((name) => [name, of((pose) => pose.readings[name])])) as Record<ReadingName, number | null>,
    joints: Object.fromEntries((['lead', 'trail'] as const).flatMap((side) => joints.map((joint) => [`${side} ${joint}`, of((pose) => pose[side].angles[joint]) ?? 0]))) as Record<JointKey, number>,
  }
}
