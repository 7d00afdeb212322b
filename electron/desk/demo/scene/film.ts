import { matrixOf, project, type Matrix34, type PhoneCamera } from '../camera.ts'
import { buildBall, buildClub } from '../figure/club.ts'
import { buildFigure } from '../figure/figure.ts'
import { Mesh } from '../figure/mesh.ts'
import type { Outfit } from '../figure/outfit.ts'
import { ballRadius, type Pose, type Swing } from '../motion.ts'
import { backdrop, type Ground } from './backdrop.ts'
import { shown, sun, SunMap } from './light.ts'
import { paint, painted } from './paint.ts'
import { perPixel, Projected, rasterise, Samples } from './raster.ts'
import { toPlanes, writeChroma } from './planes.ts'

/** Colour over what lies behind, premultiplied: what a moving thing leaves on the film. */
class Coat {
  samples = new Samples()
  light = new Float32Array(0)

  place(x0: number, y0: number, x1: number, y1: number): void {
    this.samples.place(x0, y0, x1, y1)
    const count = this.samples.width * this.samples.height * 4
    if (count > this.light.length) this.light = new Float32Array(count)
    else this.light.fill(0, 0, count)
  }
}

interface Box {
  x0: number
  y0: number
  x1: number
  y1: number
}

/** One phone filming one swing: the same instant always gives the same bytes. */
export class Film {
  readonly camera: PhoneCamera
  readonly matrix: Matrix34
  readonly empty: Uint8Array<ArrayBuffer>
  readonly #planes: Uint8Array<ArrayBuffer>
  readonly #swing: Swing
  readonly #outfit: Outfit
  readonly #body = new Mesh()
  readonly #club = new Mesh()
  readonly #sun = new SunMap()
  readonly #at = new Projected()
  readonly #bodyCoat = new Coat()
  readonly #clubCoat = new Coat()
  readonly #rgb: Uint8Array<ArrayBuffer>
  #address: Uint8Array | null = null

  constructor(swing: Swing, outfit: Outfit, camera: PhoneCamera, ground: Ground) {
    this.camera = camera
    this.matrix = matrixOf(camera)
    this.#swing = swing
    this.#outfit = outfit
    this.empty = backdrop(camera, ground)
    this.#rgb = this.empty.slice()
    this.#planes = toPlanes(this.empty, camera.widthPx, camera.heightPx)
  }

  /** The picture at t, exposed for `shutter` seconds about it, as planar 4:2:0 into `out` (width x height x 3/2 bytes). */
  shoot(t: number, shutter: number, out: Uint8Array): void {
    // At address nothing moves until the takeaway, so that one picture serves for all of it.
    const resting = t + shutter / 2 <= this.#swing.times.takeaway
    if (resting && this.#address) {
      out.set(this.#address)
      return
    }
    const box = this.#expose(t, shutter)
    out.set(this.#planes)
    writeChroma(this.#rgb, this.camera.widthPx, this.camera.heightPx, box, out)
    this.#wipe(box)
    if (resting) this.#address = out.slice()
  }

  /** The same picture as RGB, for looking at. */
  still(t: number, shutter: number): Uint8Array {
    const box = this.#expose(t, shutter)
    const copy = this.#rgb.slice()
    this.#wipe(box)
    return copy
  }

  /** Puts the backdrop back under what was painted. */
  #wipe(box: Box): void {
    const row = this.camera.widthPx * 3
    for (let y = box.y0; y < box.y1; y++) {
      const from = y * row + box.x0 * 3
      this.#rgb.set(this.empty.subarray(from, y * row + box.x1 * 3), from)
    }
  }

  #expose(t: number, shutter: number): Box {
    const pose = this.#swing.poseAt(t)
    const length = this.#swing.spec.club.lengthM
    buildFigure(this.#body, this.#swing, pose, this.#outfit)
    this.#buildClub(pose, length)
    this.#sun.begin()
    this.#sun.cast(this.#body)
    this.#sun.cast(this.#club)

    const bodyBox = this.#lay(this.#body, this.#bodyCoat, null)
    this.#resolve(this.#body, this.#bodyCoat, 1, null)
    // The club and the ball are filmed at as many instants of the exposure as they cross pixels, a dozen at most.
    const early = this.#swing.poseAt(t - shutter / 2)
    const late = this.#swing.poseAt(t + shutter / 2)
    const a = project(this.matrix, early.club.clubhead)
    const b = project(this.matrix, late.club.clubhead)
    const smear = a && b ? Math.hypot(a[0] - b[0], a[1] - b[1]) : 0
    const instants = Math.max(1, Math.min(12, Math.round(smear / 1.6)))
    const poses =
      instants === 1 ? [pose] : Array.from({ length: instants }, (_, i) => this.#swing.poseAt(t + shutter * ((i + 0.5) / instants - 0.5)))
    const clubBox = this.#boxOf([early, pose, late], length)
    this.#clubCoat.place(clubBox.x0, clubBox.y0, clubBox.x1, clubBox.y1)
    poses.forEach((one, i) => {
      this.#buildClub(one, length)
      if (i > 0) this.#clubCoat.samples.place(clubBox.x0, clubBox.y0, clubBox.x1, clubBox.y1)
      this.#lay(this.#club, this.#clubCoat, clubBox)
      this.#resolve(this.#club, this.#clubCoat, 1 / instants, this.#bodyCoat.samples)
    })

    const groundBox = this.#shadeGround(pose)
    this.#over(this.#bodyCoat)
    this.#over(this.#clubCoat)
    const all = [bodyBox, clubBox, groundBox]
    const even = (x: number) => x & ~1
    return {
      x0: even(Math.min(...all.map((o) => o.x0))),
      y0: even(Math.min(...all.map((o) => o.y0))),
      x1: even(Math.max(...all.map((o) => o.x1)) + 1),
      y1: even(Math.max(...all.map((o) => o.y1)) + 1),
    }
  }

  #buildClub(pose: Pose, length: number): void {
    this.#club.clear()
    buildClub(this.#club, pose, length)
    buildBall(this.#club, pose.ball, ballRadius)
  }

  #clip(x0: number, y0: number, x1: number, y1: number): Box {
    const w = this.camera.widthPx
    const h = this.camera.heightPx
    const inside = (v: number, most: number) => Math.max(0, Math.min(most, v))
    return { x0: inside(Math.floor(x0), w), y0: inside(Math.floor(y0), h), x1: inside(Math.ceil(x1), w), y1: inside(Math.ceil(y1), h) }
  }

  #boxOf(poses: readonly Pose[], length: number): Box {
    let x0 = Infinity,
      y0 = Infinity,
      x1 = -Infinity,
      y1 = -Infinity
    for (const pose of poses) {
      this.#buildClub(pose, length)
      this.#at.fill(this.#club, this.matrix, false, 1)
      x0 = Math.min(x0, this.#at.left - 2)
      y0 = Math.min(y0, this.#at.top - 2)
      x1 = Math.max(x1, this.#at.right + 2)
      y1 = Math.max(y1, this.#at.bottom + 2)
    }
    return this.#clip(x0, y0, x1, y1)
  }

  #lay(mesh: Mesh, coat: Coat, box: Box | null): Box {
    this.#at.fill(mesh, this.matrix, false, perPixel)
    const place =
      box ??
      this.#clip(this.#at.left / perPixel - 1, this.#at.top / perPixel - 1, this.#at.right / perPixel + 1, this.#at.bottom / perPixel + 1)
    if (!box) coat.place(place.x0, place.y0, place.x1, place.y1)
    rasterise(mesh, this.#at, coat.samples)
    return place
  }

  /** Paints each pixel once for each part seen in it, and adds that to the coat by the share of samples it has there. The club, thinner than
   *  a pixel's few samples can judge by one of them, is painted at each. */
  #resolve(mesh: Mesh, coat: Coat, share: number, before: Samples | null): void {
    const s = coat.samples
    const wide = s.width * perPixel
    const weight = share / (perPixel * perPixel)
    const seen: [number, number, number, number] = [-1, -1, -1, -1]
    const count: [number, number, number, number] = [0, 0, 0, 0]
    const at: [number, number, number, number] = [0, 0, 0, 0]
    for (let y = 0; y < s.height; y++) {
      const from = Math.min(s.first[2 * y]!, s.first[2 * y + 1]!) >> 1
      const to = Math.max(s.last[2 * y]!, s.last[2 * y + 1]!) >> 1
      for (let x = from; x <= to; x++) {
        let kinds = 0
        for (let j = 0; j < 4; j++) {
          const index = (y * 2 + (j >> 1)) * wide + x * 2 + (j & 1)
          const near = s.near[index]!
          if (near === 0) continue
          if (before && hidden(before, (s.x0 + x) * 2 + (j & 1), (s.y0 + y) * 2 + (j >> 1), near)) continue
          const kind = before ? j : mesh.part[s.triangle[index]!]!
          let slot = 0
          while (slot < kinds && seen[slot] !== kind) slot++
          if (slot === kinds) {
            seen[kinds] = kind
            count[kinds] = 0
            at[kinds] = j
            kinds++
          }
          count[slot]!++
        }
        if (kinds === 0) continue
        const k = (y * s.width + x) * 4
        for (let slot = 0; slot < kinds; slot++) {
          const j = at[slot]!
          const sx = x * 2 + (j & 1)
          const sy = y * 2 + (j >> 1)
          this.#paintSample(mesh, s.triangle[sy * wide + sx]!, sx + s.x0 * 2 + 0.5, sy + s.y0 * 2 + 0.5)
          const w = weight * count[slot]!
          coat.light[k] = coat.light[k]! + w * shown(painted[0])
          coat.light[k + 1] = coat.light[k + 1]! + w * shown(painted[1])
          coat.light[k + 2] = coat.light[k + 2]! + w * shown(painted[2])
          coat.light[k + 3] = coat.light[k + 3]! + w
        }
      }
    }
  }

  #paintSample(mesh: Mesh, triangle: number, sx: number, sy: number): void {
    const { x: xs, y: ys } = this.#at
    const a = mesh.triangle[3 * triangle]!
    const b = mesh.triangle[3 * triangle + 1]!
    const c = mesh.triangle[3 * triangle + 2]!
    const ux = xs[b]! - xs[a]!,
      uy = ys[b]! - ys[a]!
    const vx = xs[c]! - xs[a]!,
      vy = ys[c]! - ys[a]!
    const dx = sx - xs[a]!,
      dy = sy - ys[a]!
    const k = 1 / (ux * vy - uy * vx)
    paint(mesh, triangle, (dx * vy - dy * vx) * k, (ux * dy - uy * dx) * k, this.camera.place, this.#outfit, this.#sun)
  }

  /** Shadow of player and club on the ground, with the darker patch close round each shoe. */
  #shadeGround(pose: Pose): Box {
    const feet = [pose.leadLeg.foot, pose.trailLeg.foot].map((foot) => ({
      x: foot.ankle[0] + foot.ahead[0] * 0.06,
      z: foot.ankle[2] + foot.ahead[2] * 0.06,
    }))
    const reach = shadowReach([this.#body, this.#club])
    const seen = [-1, 1]
      .flatMap((i) => [-1, 1].map((j) => project(this.matrix, [i < 0 ? reach.x0 : reach.x1, 0, j < 0 ? reach.z0 : reach.z1])))
      .filter((p) => p !== null)
    const box = this.#clip(
      Math.min(...seen.map((p) => p[0])),
      Math.min(...seen.map((p) => p[1])),
      Math.max(...seen.map((p) => p[0])),
      Math.max(...seen.map((p) => p[1])),
    )
    const { place, forward, right, up, focalPx, widthPx, heightPx, mirrored } = this.camera
    const cast = this.#sun
    for (let y = box.y0; y < box.y1; y++) {
      const v = (y + 0.5 - heightPx / 2) / focalPx
      for (let x = box.x0; x < box.x1; x++) {
        const u = ((mirrored ? widthPx - x - 0.5 : x + 0.5) - widthPx / 2) / focalPx
        const ry = forward[1] + right[1] * u - up[1] * v
        if (ry > -0.02) continue
        const t = -place[1] / ry
        const gx = place[0] + t * (forward[0] + right[0] * u - up[0] * v)
        const gz = place[2] + t * (forward[2] + right[2] * u - up[2] * v)
        let touch = 0
        for (const foot of feet) {
          const away = (gx - foot.x) ** 2 / 0.006 + (gz - foot.z) ** 2 / 0.022
          if (away < 5) touch += Math.exp(-away)
        }
        const lit = cast.reach(gx, 0, gz, 0.004)
        if (lit > 0.999 && touch < 0.01) continue
        const k = (y * widthPx + x) * 3
        const soft = 1 - 0.3 * Math.min(1, touch)
        const dim = 0.52 + 0.48 * lit
        this.#rgb[k] = this.#rgb[k]! * dim * soft * (0.97 + 0.03 * lit)
        this.#rgb[k + 1] = this.#rgb[k + 1]! * dim * soft
        this.#rgb[k + 2] = this.#rgb[k + 2]! * (0.6 + 0.4 * lit) * soft
      }
    }
    return box
  }

  #over(coat: Coat): void {
    const s = coat.samples
    for (let y = 0; y < s.height; y++) {
      // In motion the coat holds several instants, and the samples only the last of them: the whole row may be painted.
      for (let x = 0; x < s.width; x++) {
        const from = (y * s.width + x) * 4
        const a = coat.light[from + 3]!
        if (a === 0) continue
        const to = ((y + s.y0) * this.camera.widthPx + x + s.x0) * 3
        for (let c = 0; c < 3; c++) this.#rgb[to + c] = this.#rgb[to + c]! * (1 - a) + coat.light[from + c]! + 0.5
      }
    }
  }
}

/** Where on the ground the shadow of these can fall, with a hand's breadth to spare. */
function shadowReach(meshes: readonly Mesh[]): { x0: number; x1: number; z0: number; z1: number } {
  let x0 = Infinity,
    x1 = -Infinity,
    z0 = Infinity,
    z1 = -Infinity
  for (const mesh of meshes)
    for (let i = 0; i < 3 * mesh.vertices; i += 3) {
      const up = mesh.position[i + 1]! / sun[1]
      const x = mesh.position[i]! - sun[0] * up
      const z = mesh.position[i + 2]! - sun[2] * up
      if (x < x0) x0 = x
      if (x > x1) x1 = x
      if (z < z0) z0 = z
      if (z > z1) z1 = z
    }
  const spare = 0.12
  return { x0: x0 - spare, x1: x1 + spare, z0: z0 - spare, z1: z1 + spare }
}

function hidden(before: Samples, sx: number, sy: number, near: number): boolean {
  const x = sx - before.x0 * perPixel
  const y = sy - before.y0 * perPixel
  if (x < 0 || y < 0 || x >= before.width * perPixel || y >= before.height * perPixel) return false
  return before.near[y * before.width * perPixel + x]! > near
}
