import { AmbientLight, DirectionalLight, PerspectiveCamera, Scene, WebGLRenderer } from 'three'
import type { ArmsPose } from '../../../shared/arms/types.ts'
import type { Vec3 } from '../../../shared/geometry/vec.ts'
import { BodyMesh } from './body.ts'
import { eyeAxes, halfField, type Eye, type Screen } from './eye.ts'
import { Strokes } from './strokes.ts'

/** Canvas pixels a CSS pixel where the processor draws: while something moves, and at rest, when finer ones stand in for smoothed edges. */
const slowRatio = { moving: 0.7, resting: 2 } as const

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
  readonly #strokes = new Strokes()
  #ratio = 1
  #drawnRatio = 0
  #size: Screen = { width: 0, height: 0 }
  readonly #camera = new PerspectiveCamera((halfField * 360) / Math.PI, 1, 0.1, 60)
  readonly #light = new DirectionalLight('#fff6e8', 2.1)
  readonly #bodies = { whole: new BodyMesh('whole'), faint: new BodyMesh('faint'), reference: new BodyMesh('reference') }

  /** Null where the browser gives no WebGL. @param ground colour behind the figure: an opaque canvas has nothing below it to be mixed with */
  static on(canvas: HTMLCanvasElement, ground: string): Solids | null {
    // Asked for by hand: three throws, and writes to the console, where there is none.
    const isSlow = isSoftware()
    if (isSlow === null) return null
    const context = canvas.getContext('webgl2', { antialias: !isSlow, alpha: false, powerPreference: 'low-power' })
    return context ? new Solids(canvas, context, isSlow, ground) : null
  }

  private constructor(canvas: HTMLCanvasElement, context: WebGL2RenderingContext, isSlow: boolean, ground: string) {
    this.isSlow = isSlow
    this.#renderer = new WebGLRenderer({ canvas, context, antialias: !isSlow, alpha: false })
    this.#renderer.setClearColor(ground, 1)
    // To ask after each shader's errors waits for it to be made.
    this.#renderer.debug.checkShaderErrors = false
    this.#scene.add(new AmbientLight('#dfe8f0', 1.25), this.#light, this.#light.target)
    for (const body of Object.values(this.#bodies)) this.#scene.add(body.group)
    this.#scene.add(this.#strokes.mesh)
    // All of it made ready now, so that the first move of the hand does not wait for what then comes into sight.
    this.#renderer.compile(this.#scene, this.#camera)
  }

  resize(width: number, height: number, ratio: number): void {
    this.#size = { width, height }
    this.#ratio = ratio
    this.#drawnRatio = 0
    this.#camera.aspect = width / Math.max(1, height)
    this.#camera.updateProjectionMatrix()
  }

  /**
   * @param isMoving whether another drawing is about to follow
   * @param lines draws what lies over the solids
   */
  draw({ pose, filmed, ghost }: Standing, eye: Eye, isMoving: boolean, mirrored: boolean, lines: (pen: Strokes) => void): void {
    const ratio = !this.isSlow ? this.#ratio : isMoving ? Math.min(this.#ratio, slowRatio.moving) : Math.max(this.#ratio, slowRatio.resting)
    if (ratio !== this.#drawnRatio) {
      this.#drawnRatio = ratio
      this.#renderer.setPixelRatio(ratio)
      this.#renderer.setSize(this.#size.width, this.#size.height, false)
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
    this.#strokes.begin(this.#size, ratio, mirrored)
    lines(this.#strokes)
    this.#strokes.end()
    this.#renderer.render(this.#scene, this.#camera)
  }

  /** Nothing but the ground. */
  clear(): void {
    this.#renderer.clear()
  }

  dispose(): void {
    for (const body of Object.values(this.#bodies)) body.dispose()
    this.#strokes.dispose()
    this.#renderer.dispose()
  }
}
