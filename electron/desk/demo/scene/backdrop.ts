import { rayThrough, type PhoneCamera } from '../camera.ts'
import { clamp01, ease, mix, type Vec } from '../vec.ts'
import { shown, sun } from './light.ts'

/** The practice ground: a mat of known size in metres, square to the target line, and a stick beyond the ball that lies along that line. */
export const mat = { fromX: -0.8, toX: 0.8, fromZ: -0.42, toZ: 1.18 } as const
export interface Ground {
  readonly ballX: number
  readonly ballZ: number
}
const stickBeyondBall = 0.16
const stickHalf = 0.6
export const stickEnds = (g: Ground): [Vec, Vec] => [
  [-stickHalf, 0.005, g.ballZ + stickBeyondBall],
  [stickHalf, 0.005, g.ballZ + stickBeyondBall],
]

/** Whole-number hash to 0..1: the same place has the same blade of grass on every machine. */
function scatter(x: number, y: number): number {
  let h = Math.imul(x | 0, 374761393) ^ Math.imul(y | 0, 668265263)
  h = Math.imul(h ^ (h >>> 13), 1274126177)
  return ((h ^ (h >>> 16)) >>> 0) / 4294967296
}
function noise(x: number, y: number): number {
  const xi = Math.floor(x)
  const yi = Math.floor(y)
  const u = x - xi
  const v = y - yi
  const a = u * u * (3 - 2 * u)
  const b = v * v * (3 - 2 * v)
  const top = scatter(xi, yi) + (scatter(xi + 1, yi) - scatter(xi, yi)) * a
  const low = scatter(xi, yi + 1) + (scatter(xi + 1, yi + 1) - scatter(xi, yi + 1)) * a
  return top + (low - top) * b
}
const cloudy = (x: number, y: number): number =>
  noise(x, y) * 0.5 + noise(x * 2.1, y * 2.1) * 0.28 + noise(x * 4.3, y * 4.3) * 0.15 + noise(x * 8.9, y * 8.9) * 0.07

function skyAlong(ray: Vec): Vec {
  const high = clamp01(ray[1] * 1.8)
  const blue = mix([0.62, 0.74, 0.86], [0.2, 0.4, 0.74], high ** 0.7)
  const k = 1 / (Math.max(0, ray[1]) + 0.16)
  const cloud = ease(0.5, 0.78, cloudy(ray[0] * k * 1.3 + 7, ray[2] * k * 1.3))
  return mix(blue, [0.9, 0.92, 0.95], cloud * 0.65 * clamp01(ray[1] * 6))
}

/** Tree line round the ground: how high above the horizon (tangent) the crowns stand in a direction, in two rows. */
function trees(ray: Vec, bearing: number): Vec | null {
  const slope = ray[1] / Math.hypot(ray[0], ray[2])
  for (const [row, far, low, high] of [
    [0, 0, 0.035, 0.05],
    [1, 1, 0.05, 0.045],
  ] as const) {
    const s = bearing * (row ? 26 : 38) + row * 91
    const crown = low + high * (0.6 * noise(s, row) + 0.3 * noise(s * 2.7, 4) + 0.1 * noise(s * 9, 8))
    const edge = crown + 0.004 * noise(bearing * 900, slope * 900)
    if (row === 1 ? slope < edge : slope < edge * 0.86) {
      const leaf = cloudy(bearing * 190 + row * 31, slope * 210)
      const lit = clamp01(0.28 + leaf * 0.9 + (slope / crown) * 0.35 - 0.3)
      const green: Vec = row === 0 ? mix([0.02, 0.045, 0.018], [0.1, 0.17, 0.06], lit) : mix([0.06, 0.1, 0.075], [0.16, 0.23, 0.14], lit)
      return mix(green, [0.42, 0.52, 0.6], far ? 0.32 : 0.1)
    }
  }
  return null
}

function groundAt(x: number, z: number, away: number, ground: Ground): Vec {
  const fine = clamp01(1 - away / 9)
  if (x > mat.fromX && x < mat.toX && z > mat.fromZ && z < mat.toZ) {
    const border = Math.min(x - mat.fromX, mat.toX - x, z - mat.fromZ, mat.toZ - z)
    if (border < 0.035) return [0.035, 0.036, 0.038]
    const line = Math.abs(z - (ground.ballZ + stickBeyondBall))
    if (line < 0.0055 && Math.abs(x) < stickHalf) {
      const round = 1 - 0.45 * (line / 0.0055) ** 2
      return mix([0, 0, 0], Math.abs(x) > stickHalf - 0.12 ? [0.9, 0.9, 0.88] : [0.95, 0.3, 0.04], round)
    }
    if (line < 0.013 && Math.abs(x) < stickHalf) return [0.025, 0.07, 0.03]
    const pile = noise(x * 420, z * 420) * 0.5 + noise(x * 170, z * 170) * 0.5
    const worn = ease(0.3, 0, Math.hypot(x - ground.ballX, (z - ground.ballZ) * 1.3)) * 0.35
    return mix(mix([0.04, 0.125, 0.05], [0.075, 0.2, 0.08], pile), [0.1, 0.16, 0.09], worn * noise(x * 60, z * 60))
  }
  const patch = cloudy(x * 0.55 + 3, z * 0.55)
  const broad = cloudy(x * 0.06, z * 0.06 + 9)
  const blade = (noise(x * 150, z * 150) * 0.55 + noise(x * 60, z * 60) * 0.45 - 0.5) * fine
  const stripe = Math.sin(z * 0.9 + 0.4) > 0 ? 0.06 : 0
  const tone = clamp01(0.25 + patch * 0.45 + broad * 0.3 + blade * 0.85 + stripe)
  return mix([0.045, 0.095, 0.02], [0.19, 0.3, 0.075], tone)
}

/** The picture without anyone in it: 8-bit RGB, three bytes a pixel. */
export function backdrop(camera: PhoneCamera, ground: Ground): Uint8Array<ArrayBuffer> {
  const { widthPx: width, heightPx: height } = camera
  const rgb = new Uint8Array(width * height * 3)
  const light = 0.42 + 0.95 * sun[1]
  for (let y = 0, k = 0; y < height; y++)
    for (let x = 0; x < width; x++, k += 3) {
      const ray = rayThrough(camera, x + 0.5, y + 0.5)
      const bearing = Math.atan2(ray[2], ray[0])
      let c: Vec
      if (ray[1] < -0.004) {
        const t = -camera.place[1] / ray[1]
        const lit = groundAt(camera.place[0] + ray[0] * t, camera.place[2] + ray[2] * t, t, ground)
        c = mix([lit[0] * light, lit[1] * light, lit[2] * light], [0.3, 0.42, 0.3], clamp01((t - 25) / 320))
      } else c = trees(ray, bearing) ?? skyAlong(ray)
      rgb[k] = shown(c[0])
      rgb[k + 1] = shown(c[1])
      rgb[k + 2] = shown(c[2])
    }
  return rgb
}
