import type { Vec } from '../vec.ts'

/** What a golfer of the kit looks like; colours in linear light, 0 to 1. */
export interface Outfit {
  readonly skin: Vec
  readonly hair: Vec
  readonly shirt: Vec
  readonly trousers: Vec
  readonly belt: Vec
  readonly shoe: Vec
  readonly cap: Vec | null
  readonly glove: Vec
  readonly ponytail: boolean
  /** Widths against a middling build. */
  readonly shoulderBuild: number
  readonly waistBuild: number
  readonly hipBuild: number
}

export const outfits = {
  student: {
    skin: [0.56, 0.33, 0.22],
    hair: [0.05, 0.032, 0.02],
    shirt: [0.62, 0.1, 0.1],
    trousers: [0.09, 0.1, 0.13],
    belt: [0.03, 0.022, 0.018],
    shoe: [0.72, 0.72, 0.7],
    cap: [0.8, 0.8, 0.78],
    glove: [0.82, 0.82, 0.8],
    ponytail: false,
    shoulderBuild: 1,
    waistBuild: 1.08,
    hipBuild: 1,
  },
  leftHander: {
    skin: [0.36, 0.19, 0.115],
    hair: [0.018, 0.013, 0.011],
    shirt: [0.1, 0.34, 0.44],
    trousers: [0.62, 0.6, 0.55],
    belt: [0.5, 0.48, 0.44],
    shoe: [0.1, 0.1, 0.11],
    cap: null,
    glove: [0.8, 0.8, 0.8],
    ponytail: true,
    shoulderBuild: 0.93,
    waistBuild: 0.9,
    hipBuild: 1.05,
  },
  reference: {
    skin: [0.66, 0.42, 0.31],
    hair: [0.16, 0.09, 0.045],
    shirt: [0.72, 0.73, 0.74],
    trousers: [0.075, 0.12, 0.22],
    belt: [0.12, 0.07, 0.04],
    shoe: [0.16, 0.1, 0.065],
    cap: null,
    glove: [0.75, 0.76, 0.78],
    ponytail: false,
    shoulderBuild: 1.03,
    waistBuild: 0.97,
    hipBuild: 0.98,
  },
} as const satisfies Record<string, Outfit>
export type OutfitName = keyof typeof outfits
