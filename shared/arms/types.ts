import type { Vec3, WorldPoint } from '../geometry/vec.ts'
import type { HeadLine } from './headLine.ts'

/**
 * The arm-and-club model's records. Lengths in metres and points in the world of the swing (X toward the target, Y up,
 * Z from the player toward the ball); angles in degrees. The world is meant literally for both hands, so a left-hander's
 * numbers are those of the right-hander who is his mirror image: nothing in here asks which hand it is, and whoever draws
 * a left-hander mirrors the picture.
 *
 * The functions, each in a file of its name:
 *   standardArms(statureM)               -> ArmsInput                a body at the top, from published lengths (standard.ts)
 *   createArms(input)                    -> ArmsModel | ArmsRefusal  checks the input, finds where the elbow is now (model.ts)
 *   forward(model, swivelDeg, spread?)   -> ForwardResult | ArmsRefusal                                        (forward.ts)
 *   inverse(model, wanted, spread?)      -> InverseResult                                                      (inverse.ts)
 *   sweep(model, options?)               -> SweepResult                                                          (sweep.ts)
 *   spreadOf(model, options?)            -> Spread                   what the model does not know, by sampling  (spread.ts)
 *   fitArms(swing, at, options?)         -> FitResult | ArmsRefusal  a swing of shared/swing (prepareSwing)        (fit.ts)
 *   readArmsJson(json)                   -> ArmsInput, or what is wrong with it                                  (input.ts)
 * An ArmsModel remembers its branch, so that dragging (many `forward` calls on one model) costs least.
 */
export type Side = 'lead' | 'trail'

/** A number with one standard deviation. */
export interface Known {
  readonly value: number
  readonly sigma: number
}

/** Unit axes of a segment, square to each other: toward the lead side, up along it, out of its front. */
export interface Axes {
  readonly lead: Vec3
  readonly up: Vec3
  readonly front: Vec3
}

/** What the arms hang on; held while the elbow moves. */
export interface Chest {
  readonly axes: Axes
  readonly leadShoulder: WorldPoint
  readonly trailShoulder: WorldPoint
  readonly trailHip: WorldPoint
}

export interface ArmLengths {
  readonly upperArm: number
  readonly forearm: number
}

/**
 * Where a wrist lies on the club, in cylinder coordinates about the shaft: metres along it from the middle of the hands
 * (positive toward the head), metres off it, and degrees round it from the side on which the lead wrist lies
 * (right-hand rule about the shaft, butt to head). The lead wrist's own `roundDeg` is 0 by this definition.
 */
export interface Hold {
  readonly alongM: number
  readonly awayM: number
  readonly roundDeg: number
}

/** One rigid club in both hands. */
export interface Grip {
  readonly lead: Hold
  readonly trail: Hold
  /** Along the shaft between the middles of the two fists. */
  readonly apartM: number
  /** How far the face is turned open against the lead palm; 0 where the back of the lead hand looks where the face looks. */
  readonly faceDeg: number
}

export interface Club {
  /** Butt to sole. */
  readonly lengthM: number
  readonly buttToHandsM: number
  /** Where the middle of the head lies off the shaft's own line; left out, on it. */
  readonly headLine?: HeadLine | undefined
}

export interface Body {
  readonly arms: Readonly<Record<Side, ArmLengths>>
  readonly grip: Grip
  readonly club: Club
}

/** A pose that was filmed, or is taken for granted: its joint angles become the easy middle of every joint. */
export interface Anchor {
  /** False for a usual pose that nobody filmed: what comes out is then a sketch all the same. */
  readonly filmed: boolean
  /** Unit vector, butt to head. */
  readonly shaft: Vec3
  /** Unit vector square to the shaft, toward the lead wrist. */
  readonly side: Vec3
  readonly leadElbow: WorldPoint
  readonly trailElbow: WorldPoint
}

export interface ArmsInput {
  readonly body: Body
  readonly chest: Chest
  /** On the shaft, midway between the hands; held while the elbow moves. */
  readonly hands: WorldPoint
  /** Null: no pose at all, easy middles are generic, and what comes out is a sketch. */
  readonly anchor: Anchor | null
  /** The axis that the shaft turns round where it stands, the way it turns; null: a usual plane is assumed. */
  readonly turning: Vec3 | null
  /** Relative standard deviation of the segments' lengths; for the error by sampling. */
  readonly lengthSigma: number
}

/**
 * Joint angles in the conventions of the ISB (Wu et al. 2005), both arms as a right arm: humerus against thorax Y-X-Y,
 * forearm and wrist Z-X-Y with the carrying angle and the wrist's own twist held at 0.
 */
export interface JointAngles {
  /** 0 out to the side, 90 forward, over 90 across the chest, negative behind. */
  readonly planeOfElevation: number
  /** Upper arm from hanging, 0 to 180 (the ISB's angle with its sign turned). */
  readonly elevation: number
  /** Third angle of Y-X-Y, internal positive. */
  readonly axialRotation: number
  /** axialRotation + planeOfElevation x cos(elevation): internal positive; well defined at every elevation, held to the limits. */
  readonly rotation: number
  readonly elbowFlexion: number
  /** From the thumb-up middle (AAOS), pronation positive; the ISB's angle less 90. */
  readonly pronation: number
  readonly wristFlexion: number
  readonly ulnarDeviation: number
}
export type JointName = keyof JointAngles

/** A joint within its margin of a limit. */
export interface LimitTouch {
  readonly side: Side
  readonly joint: JointName
  readonly end: 'low' | 'high'
  readonly valueDeg: number
  readonly limitDeg: number
  /** Past the limit, not only near it. */
  readonly beyond: boolean
  /** 'trail wrist bent back to 68 of 70 degrees' */
  readonly words: string
}

export interface ArmPose {
  readonly shoulder: WorldPoint
  readonly elbow: WorldPoint
  readonly wrist: WorldPoint
  /** On the shaft, the middle of the fist. */
  readonly grip: WorldPoint
  readonly angles: JointAngles
}

export interface ClubPose {
  readonly butt: WorldPoint
  /** The sole's end of the shaft's line. */
  readonly end: WorldPoint
  /** Unit vectors: butt to head; square to it toward the lead wrist; out of the face; heel to toe, square to the shaft. */
  readonly shaft: Vec3
  readonly side: Vec3
  readonly face: Vec3
  readonly toe: Vec3
}

export interface Readings {
  /** Trail elbow about the line trail shoulder to trail wrist: 0 hanging straight down from it, positive out behind. */
  readonly swivelDeg: number
  /** Trail elbow behind the plane through both shoulders and the trail hip; negative in front of it. */
  readonly elbowOutCm: number
  /** atan2(Z, X) of the shaft: 0 along the target line, positive across it, negative laid off. */
  readonly azimuthDeg: number
  readonly elevationDeg: number
  /** Carried on to level in the plane it moves in; null where it stands too steeply for that. */
  readonly azimuthAtLevelDeg: number | null
  readonly shortOfLevelDeg: number | null
  /** Face against the lead forearm, seen along the shaft: 0 where the toe lies along the forearm, positive open. */
  readonly faceToForearmDeg: number
}

/** One pose of the closed chain. */
export interface ArmsPose {
  readonly chest: Chest
  readonly hands: WorldPoint
  readonly lead: ArmPose
  readonly trail: ArmPose
  readonly club: ClubPose
  readonly readings: Readings
  readonly limits: readonly LimitTouch[]
  /** How far the chain is from closed, metres: rounding only. */
  readonly gapM: number
}

export type ModelKind =
  /** Through a filmed pose: what it predicts is the change from there. */
  | 'anchored'
  /** From generic easy middles or a usual pose: the absolute direction may be tens of degrees off. */
  | 'sketch'

/** What cannot hold, in words, and the nearest that can. */
export interface ArmsRefusal {
  readonly refused:
    | 'bad-input' | 'zero-length' | 'out-of-reach' | 'too-close' | 'swivel-undefined' | 'off-the-branch' | 'contradiction' | 'not-enough'
  readonly why: string
  /** The nearest input or elbow place that holds, where there is one. */
  readonly nearest: { readonly hands?: WorldPoint; readonly swivelDeg?: number; readonly words: string } | null
}
export const isArmsRefusal = (value: unknown): value is ArmsRefusal => typeof value === 'object' && value !== null && 'refused' in value

export interface ForwardResult extends ArmsPose {
  readonly kind: ModelKind
  /** On the connected branch and no joint past its limit. */
  readonly reachable: boolean
  readonly cost: number
  /** Against the elbow as it is now; sigma is null without a spread. */
  readonly change: {
    readonly swivelDeg: number
    readonly elbowOutCm: number
    readonly azimuthDeg: number
    readonly azimuthAtLevelDeg: number | null
    readonly azimuthSigmaDeg: number | null
  }
  readonly basis: string
}

/** What is wanted of the shaft: exactly one of the two directions. */
export interface Wanted {
  readonly azimuthDeg?: number
  readonly azimuthAtLevelDeg?: number
  /** Error of the shaft's own reading, one standard deviation; 0 unless told. */
  readonly sigmaDeg?: number
}

export interface ElbowMove {
  /** Straight distance between the two elbow places. */
  readonly cm: number
  /** Level, against the way it goes when it is turned out behind; negative out. */
  readonly inCm: number
  /** Lower; negative higher. */
  readonly downCm: number
  /** Along its arc, wanted minus now. */
  readonly swivelDeg: number
  /** '4.1 cm in, 2.3 cm down' */
  readonly words: string
}

export interface InverseFound {
  readonly found: true
  readonly pose: ForwardResult
  readonly move: ElbowMove
  /** 68 % interval that the shaft's error and, with a spread, the model's own imply; null ends where it runs past what can be reached. */
  readonly interval: { readonly swivelDeg: readonly [number | null, number | null]; readonly elbowOutCm: readonly [number | null, number | null] }
  /** Other reachable elbow places that make the same shaft, the nearest first: where it turns back on the way there are some. */
  readonly others: readonly ElbowMove[]
  readonly words: string
}
export interface InverseMissed {
  readonly found: false
  /** The reachable elbow place that comes nearest; null where there is none at all. */
  readonly nearest: ForwardResult | null
  /** What is left between the nearest and the wanted direction, wanted minus nearest. */
  readonly leftDeg: number | null
  readonly move: ElbowMove | null
  readonly why: string
  /** What else would do it, each with how much, the smallest change first; may be empty. */
  readonly instead: readonly string[]
}
export type InverseResult = InverseFound | InverseMissed

export interface SweepRow {
  readonly elbowOutCm: number
  readonly swivelDeg: number
  readonly azimuthDeg: number
  readonly azimuthAtLevelDeg: number | null
  readonly reachable: boolean
}
/** A place on the arc at which the shaft turns back. */
export interface TurnBack {
  readonly swivelDeg: number
  readonly elbowOutCm: number
  readonly azimuthDeg: number
  /** 'With the elbow 3.2 cm farther out on its arc than now the shaft turns back ...' */
  readonly words: string
}
export interface Slope {
  /** Degrees of azimuth a centimetre of the elbow's way out along its arc; sigma is NaN without a spread. */
  readonly perCm: Known
  /** Degrees of azimuth a degree of swivel. */
  readonly perDegree: Known
  /** Degrees of azimuth a centimetre of elbowOutCm; null where the arc hardly leads out of the body plane. */
  readonly perOutCm: Known | null
  /** 'A centimetre in is 1.9 +/- .4 degrees less across: model, chest and hands held.' */
  readonly words: string
}
export interface SweepResult {
  readonly kind: ModelKind
  /** By swivel, ascending, over all of the connected branch; the reachable ones are one stretch about now. */
  readonly rows: readonly SweepRow[]
  readonly now: SweepRow
  readonly target: SweepRow | null
  /** The reachable stretch, and in words what ends it on either side. */
  readonly range: { readonly swivelDeg: readonly [number, number]; readonly low: string; readonly high: string }
  /** Where the shaft turns back within the reachable stretch; empty where one azimuth has one elbow place. */
  readonly turns: readonly TurnBack[]
  /** At now; null where now is not reachable. */
  readonly slope: Slope | null
  readonly basis: string
}

/** A point of the fit with how far the model lies from it. */
export interface FitResidual {
  readonly point: string
  /** View's name, or 'world' for a point given in space. */
  readonly view: string
  /** Pixels for a view, millimetres for the world; model minus marked. */
  readonly off: readonly number[]
  readonly sigma: number
}

export interface FitResult {
  readonly input: ArmsInput
  /** The student as filmed: reading it back through `forward` at its own swivel gives the same. */
  readonly pose: ForwardResult
  readonly sigma: {
    readonly azimuthDeg: number
    readonly azimuthAtLevelDeg: number | null
    readonly elevationDeg: number
    readonly swivelDeg: number
    readonly elbowOutCm: number
  }
  /** Draws of the whole input from the fit's covariance, for the spread. */
  readonly draw: (random: { readonly normal: () => number; readonly uniform: () => number }) => ArmsInput
  readonly residuals: readonly FitResidual[]
  /** Root mean square of residuals in units of their own deviation; about 1 where points and model agree. */
  readonly misfit: number
  readonly views: readonly string[]
  /** What was taken for granted, in words; more of it with one view. */
  readonly assumptions: readonly string[]
  /** What of the marked points cannot hold together, in words; the pose is then the nearest that can. */
  readonly contradictions: readonly string[]
  readonly basis: string
}
