import { AmbientLight, DirectionalLight, PerspectiveCamera, Scene, WebGLRenderer } from 'three'
import type { ArmsPose } from '../../../shared/arms/types.ts'
import type { Vec3 } from '../../../shared/geometry/vec.ts'
import { BodyMesh } from './body.ts'
import { eyeAxes, halfField, type Eye } from './eye.ts'

/** Of the pixels along each side, while something moves on a slow machine. */
const coarse = 0.45

/** What stands in the room at one instant. */
export interface Standing {
  readonly pose: ArmsPose
  /** The filmed pose behind the wanted one; null where they are the same. */
  readonly filmed: ArmsPose | null
  readonly ghost: ArmsPose | null
}

/** Whether WebGL is drawn by the processor, from what the browser says draws it; null where there is no WebGL at all. */
function isSoftware(): boolean | null {
  const context = document.createElement('canvas').getContext('webgl2')
  if (!context) return null
  const names = context.getExtension('WEBGL_debug_renderer_info')
  const name = names ? String(context.getParameter(names.UNMASKED_RENDERER_WEBGL)) : ''
  context.getExtension('WEBGL_lose_context')?.loseContext()
  return /swiftshader|llvmpipe|software|basic render/i.test(name)
}

/** The solid figure on a canvas of its own. A left-hander's canvas is mirrored by its style, so nothing in here knows of hands. */
export class Solids {
  readonly #renderer: WebGLRenderer
  readonly #scene = new Scene()
  /** Whether the processor draws: then what moves is drawn with fewer pixels, and whole again once it rests. */
  readonly isSlow: boolean
  #ratio = 1
  #isCoarse = false
  readonly #camera = new PerspectiveCamera((halfField * 360) / Math.PI, 1, 0.1, 60)
  readonly #light = new DirectionalLight('#fff6e8', 2.1)
  readonly #bodies = { whole: new BodyMesh('whole'), faint: new BodyMesh('faint'), reference: new BodyMesh('reference') }

  /** Null where the browser gives no WebGL. */
  static on(canvas: HTMLCanvasElement): Solids | null {
    // Asked for by hand: three throws, and writes to the console, where there is none.
    const isSlow = isSoftware()
    if (isSlow === null) return null
    const context = canvas.getContext('webgl2', { antialias: !isSlow, alpha: true, powerPreference: 'low-power' })
    return context ? new Solids(canvas, context, isSlow) : null
  }

  private constructor(canvas: HTMLCanvasElement, context: WebGL2RenderingContext, isSlow: boolean) {
    this.isSlow = isSlow
    this.#renderer = new WebGLRenderer({ canvas, context, antialias: !isSlow, alpha: true })
    this.#renderer.setClearColor('#000000', 0)
    this.#scene.add(new AmbientLight('#dfe8f0', 1.25), this.#light, this.#light.target)
    for (const body of Object.values(this.#bodies)) {
      body.group.visible = false
      this.#scene.add(body.group)
    }
  }

  resize(width: number, height: number, ratio: number): void {
    this.#ratio = ratio
    this.#isCoarse = false
    this.#renderer.setPixelRatio(ratio)
    this.#renderer.setSize(width, height, false)
    this.#camera.aspect = width / Math.max(1, height)
    this.#camera.updateProjectionMatrix()
  }

  /** @param isMoving whether another drawing is about to follow */
  draw({ pose, filmed, ghost }: Standing, eye: Eye, isMoving: boolean): void {
    const isCoarse = this.isSlow && isMoving
    if (isCoarse !== this.#isCoarse) {
      this.#isCoarse = isCoarse
      this.#renderer.setPixelRatio(this.#ratio * (isCoarse ? coarse : 1))
    }
    const { whole, faint, reference } = this.#bodies
    for (const [body, stands] of [[whole, pose], [faint, filmed], [reference, ghost]] as const) {
      body.group.visible = stands !== null
      if (stands) body.stand(stands)
    }
    const { place, up } = eyeAxes(eye)
    this.#camera.position.set(...place)
    this.#camera.up.set(...up)
    this.#camera.lookAt(...eye.middle)
    // The light comes over the viewer's shoulder, wherever that is.
    const lit: Vec3 = [place[0] + 2 * up[0], place[1] + 2 * up[1] + 1.2, place[2] + 2 * up[2]]
    this.#light.position.set(...lit)
    this.#light.target.position.set(...eye.middle)
    this.#renderer.render(this.#scene, this.#camera)
  }

  dispose(): void {
    for (const body of Object.values(this.#bodies)) body.dispose()
    this.#renderer.dispose()
  }
}
