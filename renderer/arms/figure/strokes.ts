import { BufferAttribute, BufferGeometry, DoubleSide, DynamicDrawUsage, GLSL3, Mesh, RawShaderMaterial, Sphere, Vector2 } from 'three'
import type { Vec2 } from '../../../shared/geometry/vec.ts'
import type { Screen } from './eye.ts'
import { dashed, widened } from './outline.ts'
import type { Dash, Ink, Pen } from './pen.ts'

const vertex = /* glsl */ `
in vec2 position;
in vec4 ink;
uniform vec2 size;
out vec4 shade;
void main() {
  shade = ink;
  gl_Position = vec4(2.0 * position.x / size.x - 1.0, 1.0 - 2.0 * position.y / size.y, 0.0, 1.0);
}`
const fragment = /* glsl */ `
precision mediump float;
in vec4 shade;
out vec4 colour;
void main() { colour = shade; }`

/** Lines over the solids, in the same picture: one canvas less for the page to lay together. */
export class Strokes implements Pen {
  readonly mesh: Mesh<BufferGeometry, RawShaderMaterial>
  readonly #size = new Vector2(1, 1)
  #places = new Float32Array(2 * 4096)
  #inks = new Float32Array(4 * 4096)
  #count = 0
  #feather = 1
  #width = 0
  #mirrored = false
  readonly #rgb = new Map<string, readonly [number, number, number]>()

  constructor() {
    const material = new RawShaderMaterial({ glslVersion: GLSL3, vertexShader: vertex, fragmentShader: fragment, uniforms: { size: { value: this.#size } }, side: DoubleSide, transparent: true, depthTest: false, depthWrite: false })
    this.mesh = new Mesh(new BufferGeometry(), material)
    this.mesh.frustumCulled = false
    // Its places are the screen's, so that it has none in the world to be sorted by.
    this.mesh.geometry.boundingSphere = new Sphere()
    this.mesh.renderOrder = 1
    this.#attach()
  }

  /** Begins anew. @param mirrored whether the page mirrors the whole picture, so that lines have to be mirrored back */
  begin({ width, height }: Screen, ratio: number, mirrored: boolean): void {
    this.#size.set(width, height)
    this.#width = width
    this.#mirrored = mirrored
    this.#feather = 1 / ratio
    this.#count = 0
  }

  stroke(points: readonly Vec2[], ink: Ink, width: number, dash?: Dash): void {
    const put = this.#putter(ink)
    for (const line of dash ? dashed(points, dash) : [points]) widened(line, width, this.#feather, put)
  }

  fill(points: readonly Vec2[], ink: Ink): void {
    const put = this.#putter(ink)
    const [first] = points
    for (let i = 2; i < points.length; i++) for (const [x, y] of [first!, points[i - 1]!, points[i]!]) put(x, y, 1)
  }

  /** Hands over what was drawn since `begin`. */
  end(): void {
    const { geometry } = this.mesh
    const [places, inks] = [geometry.getAttribute('position'), geometry.getAttribute('ink')] as [BufferAttribute, BufferAttribute]
    if (places.array !== this.#places) this.#attach()
    else
      for (const [attribute, each] of [[places, 2], [inks, 4]] as const) {
        attribute.clearUpdateRanges()
        attribute.addUpdateRange(0, each * this.#count)
        attribute.needsUpdate = true
      }
    geometry.setDrawRange(0, this.#count)
  }

  dispose(): void {
    this.mesh.geometry.dispose()
    this.mesh.material.dispose()
  }

  #attach(): void {
    const { geometry } = this.mesh
    // What has been handed to the processor of pictures once keeps its size: more lines need another.
    geometry.dispose()
    geometry.setAttribute('position', new BufferAttribute(this.#places, 2).setUsage(DynamicDrawUsage))
    geometry.setAttribute('ink', new BufferAttribute(this.#inks, 4).setUsage(DynamicDrawUsage))
  }

  #putter({ colour, alpha }: Ink): (x: number, y: number, share: number) => void {
    const [r, g, b] = this.#rgbOf(colour)
    return (x, y, share) => {
      if (this.#count * 2 >= this.#places.length) this.#grow()
      this.#places[2 * this.#count] = this.#mirrored ? this.#width - x : x
      this.#places[2 * this.#count + 1] = y
      const at = 4 * this.#count
      this.#inks[at] = r
      this.#inks[at + 1] = g
      this.#inks[at + 2] = b
      this.#inks[at + 3] = alpha * share
      this.#count++
    }
  }
  #grow(): void {
    const twice = (from: Float32Array<ArrayBuffer>): Float32Array<ArrayBuffer> => {
      const to = new Float32Array(2 * from.length)
      to.set(from)
      return to
    }
    this.#places = twice(this.#places)
    this.#inks = twice(this.#inks)
  }
  #rgbOf(colour: string): readonly [number, number, number] {
    const known = this.#rgb.get(colour)
    if (known) return known
    const value = Number.parseInt(colour.slice(1), 16)
    const rgb = [(value >> 16) / 255, ((value >> 8) & 255) / 255, (value & 255) / 255] as const
    this.#rgb.set(colour, rgb)
    return rgb
  }
}
