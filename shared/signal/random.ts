/** A source of random numbers that gives the same ones for the same seed. */
export interface Random {
  /** In [0, 1). */
  readonly uniform: () => number
  /** Mean 0, standard deviation 1. */
  readonly normal: () => number
}

/** Bob Jenkins' small fast generator (sfc32), seeded from one number; normals by Box and Muller. */
export function seededRandom(seed: number): Random {
  let a = seed >>> 0
  let b = 0x9e3779b9
  let c = 0x243f6a88
  let counter = 1
  const next = (): number => {
    const t = (((a + b) | 0) + counter) | 0
    counter = (counter + 1) | 0
    a = b ^ (b >>> 9)
    b = (c + (c << 3)) | 0
    c = ((c << 21) | (c >>> 11)) + t
    c |= 0
    return (t >>> 0) / 4294967296
  }
  for (let i = 0; i < 15; i++) next()
  let spare: number | null = null
  return {
    uniform: next,
    normal: () => {
      if (spare !== null) {
        const value = spare
        spare = null
        return value
      }
      const radius = Math.sqrt(-2 * Math.log(1 - next()))
      const angle = 2 * Math.PI * next()
      spare = radius * Math.sin(angle)
      return radius * Math.cos(angle)
    },
  }
}
