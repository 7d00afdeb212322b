import { createStore, type StoreApi } from 'zustand/vanilla'
import type { FaceInput } from '../../../shared/contract/faceInput.ts'
import { measuredShare, type Known } from '../../../shared/flight/launch.ts'
import type { MissInput } from '../../../shared/flight/missFan.ts'

/** Twist of the handle near impact, 1307 +/- 304 degrees a second (Cheetham 2014): a proxy for the face's closing. */
export const handleTwist: Known = { value: 1307, sigma: 304 }

export const usualInput: FaceInput = {
  face: { value: 0, sigma: 1 }, path: { value: 0, sigma: 1 }, shareOf: 'measured', share: measuredShare,
  closureRate: { value: 1300, sigma: 300 }, closureBasis: 'twist of the handle near impact, published, a proxy for the face', timingMs: { value: 1.5, sigma: 0.5 },
  faceScatter: 0.5, pathScatter: 1, distance: 200, unit: 'yd', loft: { value: 14, sigma: 1 }, attack: { value: -1, sigma: 1 }, otherRate: 800,
}

export const createFaceState = (): StoreApi<FaceInput> => createStore<FaceInput>()(() => usualInput)

export const missInputOf = ({ face, path, share, closureRate, timingMs, faceScatter, pathScatter, distance }: FaceInput): MissInput => ({
  face, path, share, closureRate, timingS: { value: timingMs.value / 1000, sigma: timingMs.sigma / 1000 }, faceScatter, pathScatter, distance,
})
