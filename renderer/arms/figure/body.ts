import {
  BufferAttribute, BufferGeometry, Color, CylinderGeometry, DoubleSide, FrontSide, Group, Mesh, MeshLambertMaterial, Quaternion, SphereGeometry, Vector3, type ColorRepresentation, type Material, type Side,
} from 'three'
import type { ArmPose, ArmsPose } from '../../../shared/arms/types.ts'
import { add3, cross3, dot3, length3, scale3, sub3, unit3, type Vec3 } from '../../../shared/geometry/vec.ts'
import { inkColours } from '../../../shared/picture/palette.ts'

/** How a body is painted: whole, see-through (the filmed one behind the wanted one), or all in the reference's blue. */
export type Paint = 'whole' | 'faint' | 'reference'

const up = new Vector3(0, 1, 0)
const asVector = ([x, y, z]: Vec3): Vector3 => new Vector3(x, y, z)

/** Thorax, two arms and a club as solids; made once and moved as the pose does. */
export class BodyMesh {
  readonly group = new Group()
  readonly #materials: MeshLambertMaterial[] = []
  readonly #bones: Mesh[] = []
  readonly #joints: Mesh[] = []
  readonly #thorax: Mesh
  readonly #head: Mesh
  readonly #clubhead: Mesh
  readonly #geometries: BufferGeometry[] = []
  #stands: ArmsPose | null = null
  #chest: ArmsPose['chest'] | null = null
  #shoulders: readonly [Vec3 | null, Vec3 | null] = [null, null]

  constructor(paint: Paint) {
    const alpha = paint === 'whole' ? 1 : paint === 'faint' ? 0.3 : 0.42
    // Limbs are closed, so that their insides are never seen; what is see-through needs fewer facets.
    const [round, high] = paint === 'whole' ? [16, 12] : [10, 8]
    const paintOf = (colour: ColorRepresentation, side: Side = FrontSide): MeshLambertMaterial => {
      const base = new Color(paint === 'reference' ? inkColours.reference : colour)
      const material = new MeshLambertMaterial({ color: base, emissive: base, emissiveIntensity: 0.28, transparent: alpha < 1, opacity: alpha, side, depthWrite: alpha === 1 })
      this.#materials.push(material)
      return material
    }
    const lead = paintOf(inkColours.lead)
    const trail = paintOf(inkColours.trail)
    const club = paintOf(inkColours.club)
    const chest = paintOf('#5d7f95', DoubleSide)
    const skin = paintOf('#cfc8ba')
    const tube = (from: number, to: number, material: Material): Mesh => this.#mesh(new CylinderGeometry(to, from, 1, round), material)
    const ball = (radius: number, material: Material): Mesh => this.#mesh(new SphereGeometry(radius, round, high), material)
    // Upper arm and forearm of each arm, thinner toward the hand; then the shaft.
    this.#bones = [tube(0.05, 0.041, lead), tube(0.041, 0.029, lead), tube(0.05, 0.041, trail), tube(0.041, 0.029, trail), tube(0.009, 0.007, club), tube(0.0145, 0.0135, skin)]
    this.#joints = [ball(0.058, lead), ball(0.046, lead), ball(0.036, skin), ball(0.058, trail), ball(0.046, trail), ball(0.036, skin), ball(0.047, skin), ball(0.047, skin)]
    this.#thorax = this.#mesh(new BufferGeometry(), chest)
    // For the eye alone: nothing of the head is known here, so it is drawn faint.
    const faint = new MeshLambertMaterial({ color: '#cfc8ba', transparent: true, opacity: 0.22, depthWrite: false })
    this.#materials.push(faint)
    this.#head = ball(0.085, faint)
    this.#clubhead = this.#mesh(new SphereGeometry(0.052, 18, 12), club)
    if (paint !== 'whole') this.#head.visible = false
  }

  #mesh(geometry: BufferGeometry, material: Material): Mesh {
    this.#geometries.push(geometry)
    const mesh = new Mesh(geometry, material)
    // The eye always looks at the whole figure: what cannot be out of sight needs no sphere to be tested by.
    mesh.frustumCulled = false
    this.group.add(mesh)
    return mesh
  }

  /** Moves every part to a pose; nothing where it stands in it already. */
  stand(pose: ArmsPose): void {
    if (this.#stands === pose) return
    this.#stands = pose
    const { lead, trail, club, chest } = pose
    const parts: readonly (readonly [Vec3, Vec3])[] = [
      [lead.shoulder, lead.elbow], [lead.elbow, lead.wrist], [trail.shoulder, trail.elbow], [trail.elbow, trail.wrist], [club.butt, club.end], [club.butt, between(club.butt, club.end, 0.28)],
    ]
    parts.forEach(([a, b], i) => stretch(this.#bones[i]!, a, b))
    const joints = [...jointsOf(lead), ...jointsOf(trail), lead.grip, trail.grip]
    joints.forEach((place, i) => this.#joints[i]!.position.set(...place))
    const head = this.#clubhead
    // Flat along the face, long from heel to toe.
    const toe = unit3(club.toe) ?? [0, 0, 1]
    head.position.copy(asVector(add3(club.end, scale3(toe, 0.025))))
    head.quaternion.setFromUnitVectors(new Vector3(1, 0, 0), asVector(toe))
    head.scale.set(1, 0.62, 0.5)
    // The chest is held while an elbow moves: its shape is made anew only where it has another place.
    if (this.#chest !== pose.chest || this.#shoulders[0] !== lead.shoulder || this.#shoulders[1] !== trail.shoulder) {
      this.#chest = pose.chest
      this.#shoulders = [lead.shoulder, trail.shoulder]
      this.#shapeThorax(pose)
    }
    const middle = between(lead.shoulder, trail.shoulder, 0.5)
    this.#head.position.set(...add3(middle, add3(scale3(chest.axes.up, 0.27), scale3(chest.axes.front, 0.05))))
    this.#head.scale.set(0.85, 1.15, 1)
  }

  /** A chest of oval rings from the hips to the shoulders. */
  #shapeThorax({ chest, lead, trail }: ArmsPose): void {
    const across = sub3(lead.shoulder, trail.shoulder)
    const wide = length3(across)
    const shoulders = between(lead.shoulder, trail.shoulder, 0.5)
    const hips = add3(chest.trailHip, scale3(chest.axes.lead, 0.37 * wide))
    const axisUp = unit3(sub3(shoulders, hips)) ?? chest.axes.up
    const side = unit3(across) ?? chest.axes.lead
    const flat = unit3(sub3(side, scale3(axisUp, dot3(side, axisUp)))) ?? chest.axes.lead
    // Half widths and half depths as shares of the shoulders' width, from the hips up.
    const rings: readonly (readonly [at: number, half: number, deep: number])[] = [[0, 0.36, 0.27], [0.3, 0.34, 0.26], [0.65, 0.42, 0.31], [0.88, 0.46, 0.29], [1, 0.4, 0.2], [1.06, 0.16, 0.12], [1.075, 0, 0]]
    const around = 24
    const places: number[] = []
    for (const [at, half, deep] of rings) {
      const middle = add3(hips, scale3(sub3(shoulders, hips), at))
      // The shoulders' own tilt and turn come in toward the top.
      const a = at > 0.8 ? side : unit3(add3(scale3(flat, 1 - at), scale3(side, at))) ?? side
      const b = unit3(cross3(a, axisUp)) ?? chest.axes.front
      for (let i = 0; i < around; i++) {
        const angle = (2 * Math.PI * i) / around
        places.push(...add3(middle, add3(scale3(a, half * wide * Math.cos(angle)), scale3(b, deep * wide * Math.sin(angle)))))
      }
    }
    const faces: number[] = []
    for (let r = 0; r + 1 < rings.length; r++)
      for (let i = 0; i < around; i++) {
        const [p, q] = [r * around + i, r * around + ((i + 1) % around)]
        faces.push(p, q, p + around, q, q + around, p + around)
      }
    const geometry = this.#thorax.geometry
    geometry.setAttribute('position', new BufferAttribute(Float32Array.from(places), 3))
    if (!geometry.index) geometry.setIndex(faces)
    geometry.computeVertexNormals()
  }

  dispose(): void {
    for (const geometry of this.#geometries) geometry.dispose()
    for (const material of this.#materials) material.dispose()
  }
}

const jointsOf = ({ shoulder, elbow, wrist }: ArmPose): readonly Vec3[] => [shoulder, elbow, wrist]
const between = (a: Vec3, b: Vec3, t: number): Vec3 => add3(a, scale3(sub3(b, a), t))

/** Lays a cylinder of length 1 along its y from one point to another. */
function stretch(mesh: Mesh, a: Vec3, b: Vec3): void {
  const [from, to] = [asVector(a), asVector(b)]
  const way = to.clone().sub(from)
  const length = way.length()
  mesh.position.copy(from).addScaledVector(way, 0.5)
  mesh.scale.set(1, Math.max(length, 1e-6), 1)
  mesh.quaternion.copy(new Quaternion().setFromUnitVectors(up, length > 0 ? way.divideScalar(length) : up))
}
