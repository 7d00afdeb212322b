import { materials, type Mesh } from '../figure/mesh.ts'
import { hairCover } from '../figure/head.ts'
import type { Outfit } from '../figure/outfit.ts'
import type { Vec } from '../vec.ts'
import { sun, type SunMap } from './light.ts'

/** A surface point's light, filled by `paint`: linear red, green, blue. */
export const painted: [number, number, number] = [0, 0, 0]

/** Albedo of the face at a point in the head's own axes (metres at a stature of 1.8). */
function faceColour(x: number, y: number, z: number, outfit: Outfit): { colour: Vec; hair: boolean } {
  const angle = Math.atan2(z, x)
  if (outfit.cap && y > 0.052 - (z < 0 ? 0.018 * (-z / 0.1) : 0)) return { colour: outfit.cap, hair: false }
  if (hairCover(angle, y, outfit.ponytail) > 0.4) return { colour: outfit.hair, hair: true }
  const s = outfit.skin
  if (z < 0.02) return { colour: s, hair: false }
  const ax = Math.abs(x)
  const eye = ((ax - 0.031) / 0.0155) ** 2 + ((y - 0.0075) / (0.0072 - 40 * (ax - 0.031) ** 2)) ** 2
  if (eye < 1) {
    const iris = Math.hypot(ax - 0.031, y - 0.0068)
    if (iris < 0.0062) return { colour: [0.02, 0.014, 0.01], hair: false }
    return { colour: [0.62, 0.6, 0.57], hair: false }
  }
  if (eye < 1.55 && y > 0.007) return { colour: [s[0] * 0.25, s[1] * 0.22, s[2] * 0.2], hair: false }
  const browLine = 0.0285 + 0.004 * (1 - ((ax - 0.03) / 0.02) ** 2)
  if (ax > 0.011 && ax < 0.05 && Math.abs(y - browLine) < 0.0042 * (1.15 - ax * 10))
    return { colour: [outfit.hair[0] * 0.9 + 0.02, outfit.hair[1] * 0.9 + 0.015, outfit.hair[2] * 0.9 + 0.012], hair: false }
  const mouth = 0.0245 - ax
  if (mouth > 0 && Math.abs(y + 0.0645) < 0.0075 * Math.sqrt(mouth / 0.0245)) {
    const dark = Math.abs(y + 0.0645) < 0.0013
    return { colour: dark ? [s[0] * 0.3, s[1] * 0.16, s[2] * 0.16] : [s[0] * 0.82, s[1] * 0.5, s[2] * 0.52], hair: false }
  }
  const nostril = Math.hypot((ax - 0.008) / 0.0045, (y + 0.0415) / 0.0035)
  if (nostril < 1) return { colour: [s[0] * 0.3, s[1] * 0.2, s[2] * 0.2], hair: false }
  const flush = Math.exp(-(((ax - 0.042) / 0.02) ** 2) - ((y + 0.03) / 0.022) ** 2) * 0.12
  return { colour: [s[0] * (1 + flush * 0.4), s[1] * (1 - flush), s[2] * (1 - flush)], hair: false }
}

/** Folds of cloth: bends the normal by waves that run round and along the part. Angle in radians, height in metres, part as told apart by the maker. */
function fold(n: [number, number, number], angle: number, height: number, part: number, strength: number): void {
  const h = height * 42
  const a =
    Math.sin(h * 0.7 + angle * 3.1 + part * 2.3) +
    0.7 * Math.sin(h * 1.27 - angle * 4.3 + part) +
    0.5 * Math.sin(h * 0.31 + angle * 7.1 + part * 5.1)
  const b = Math.sin(h * 0.53 - angle * 2.7 + part * 1.7) + 0.6 * Math.sin(h * 0.9 + angle * 5.3 + part * 3.3)
  n[0] += strength * b
  n[1] += strength * a
  n[2] += strength * (a - b) * 0.5
}

const normal: [number, number, number] = [0, 0, 0]
/** A closed surface's normal looks at the camera: turned about where the winding made it look away. */
export function paint(mesh: Mesh, triangle: number, wb: number, wc: number, eye: Vec, outfit: Outfit, sunMap: SunMap): void {
  const t = mesh.triangle
  const i = 3 * t[3 * triangle]!
  const j = 3 * t[3 * triangle + 1]!
  const k = 3 * t[3 * triangle + 2]!
  const wa = 1 - wb - wc
  const { position: p, normal: v, extra: e } = mesh
  const px = wa * p[i]! + wb * p[j]! + wc * p[k]!
  const py = wa * p[i + 1]! + wb * p[j + 1]! + wc * p[k + 1]!
  const pz = wa * p[i + 2]! + wb * p[j + 2]! + wc * p[k + 2]!
  normal[0] = wa * v[i]! + wb * v[j]! + wc * v[k]!
  normal[1] = wa * v[i + 1]! + wb * v[j + 1]! + wc * v[k + 1]!
  normal[2] = wa * v[i + 2]! + wb * v[j + 2]! + wc * v[k + 2]!
  const e0 = wa * e[i]! + wb * e[j]! + wc * e[k]!
  const e1 = wa * e[i + 1]! + wb * e[j + 1]! + wc * e[k + 1]!
  const e2 = wa * e[i + 2]! + wb * e[j + 2]! + wc * e[k + 2]!
  const material = mesh.material[triangle]!
  let ex = eye[0] - px,
    ey = eye[1] - py,
    ez = eye[2] - pz
  const away = 1 / Math.hypot(ex, ey, ez)
  ex *= away
  ey *= away
  ez *= away
  const turned = normal[0] * ex + normal[1] * ey + normal[2] * ez < 0 ? -1 : 1
  normal[0] *= turned
  normal[1] *= turned
  normal[2] *= turned

  let colour: Vec = outfit.skin
  let gloss = 0.05
  let tight = 12
  let wrap = 0
  switch (material) {
    case materials.skin:
      wrap = 0.18
      break
    case materials.face: {
      const found = faceColour(e0, e1, e2, outfit)
      colour = found.colour
      wrap = found.hair ? 0 : 0.18
      gloss = found.hair ? 0.12 : 0.06
      if (found.hair) {
        const strand = Math.sin(e0 * 700 + e2 * 260) * 0.5 + Math.sin(e0 * 1500 - e1 * 300) * 0.5
        colour = [colour[0] * (1 + 0.25 * strand), colour[1] * (1 + 0.25 * strand), colour[2] * (1 + 0.25 * strand)]
      }
      break
    }
    case materials.shirt:
      colour = outfit.shirt
      fold(normal, e0, e1, e2, e2 === 3 ? 0.02 : 0.075)
      gloss = 0.02
      break
    case materials.trousers:
      colour = outfit.trousers
      fold(normal, e0, e1 * 0.8, e2, 0.06)
      gloss = 0.015
      break
    case materials.belt:
      colour = e0 > 1.42 && e0 < 1.72 ? [0.55, 0.54, 0.5] : outfit.belt
      gloss = 0.2
      tight = 24
      break
    case materials.shoe:
      colour = outfit.shoe
      gloss = 0.15
      tight = 20
      break
    case materials.sole:
      colour = [0.55, 0.55, 0.53]
      break
    case materials.glove:
      colour = outfit.glove
      gloss = 0.04
      break
    case materials.hair:
      colour = outfit.hair
      gloss = 0.15
      break
    case materials.cap:
      colour = outfit.cap ?? outfit.hair
      gloss = 0.02
      break
    case materials.shaft:
      colour = [0.46, 0.47, 0.49]
      gloss = 1.1
      tight = 40
      break
    case materials.grip:
      colour = [0.02, 0.02, 0.022]
      gloss = 0.06
      break
    case materials.iron:
      colour = [0.34, 0.35, 0.37]
      gloss = 1
      tight = 30
      break
    case materials.ball:
      colour = [0.88, 0.88, 0.86]
      gloss = 0.2
      tight = 30
      break
  }
  const length = 1 / Math.hypot(normal[0], normal[1], normal[2])
  const nx = normal[0] * length,
    ny = normal[1] * length,
    nz = normal[2] * length
  const facing = nx * sun[0] + ny * sun[1] + nz * sun[2]
  // The shaft is thinner than a cell of the sun's map and would shade itself in beads.
  const bias = material >= materials.shaft && material <= materials.iron ? 0.04 : 0.012
  const lit = facing + wrap > 0 ? sunMap.reach(px + nx * 0.006, py + ny * 0.006, pz + nz * 0.006, bias) : 0
  const direct = Math.max(0, (facing + wrap) / (1 + wrap)) * lit * 1.3
  // Sky above, grass below; low down the ground and the legs take some of the sky away.
  const open = 0.78 + 0.22 * Math.min(1, Math.max(0, py / 1.1))
  const above = (0.5 + 0.5 * ny) * open
  const below = 0.5 - 0.5 * ny
  const rim = (1 - Math.max(0, nx * ex + ny * ey + nz * ez)) ** 3 * 0.1
  let hx = sun[0] + ex,
    hy = sun[1] + ey,
    hz = sun[2] + ez
  const hl = 1 / Math.hypot(hx, hy, hz)
  hx *= hl
  hy *= hl
  hz *= hl
  const shine = gloss * Math.max(0, nx * hx + ny * hy + nz * hz) ** tight * lit * 0.8
  painted[0] = colour[0] * (direct * 1.06 + above * 0.4 + below * 0.13 + rim) + shine
  painted[1] = colour[1] * (direct * (wrap > 0 ? 0.97 : 1) + above * 0.45 + below * 0.17 + rim) + shine
  painted[2] = colour[2] * (direct * (wrap > 0 ? 0.86 : 0.9) + above * 0.53 + below * 0.09 + rim * 1.2) + shine
}
