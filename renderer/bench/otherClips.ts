import type { Bench } from './bench.ts'

const standing = (bench: Bench): string => bench.state.getState().clipIds.filter((id) => id !== null).toSorted().join(' ')

/** Tells where other clips stand on the Bench than before; the same ones the other way round are no others. Until the returned function is called. */
export function onOtherClips(bench: Bench, tell: () => void): () => void {
  let before = standing(bench)
  return bench.state.subscribe(() => {
    const now = standing(bench)
    if (now === before) return
    before = now
    tell()
    bench.marks.tellHistory()
  })
}
