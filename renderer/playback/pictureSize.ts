import type { PictureSize } from './protocol.ts'

/** Above this part of the copy's own size there is too little to be saved. */
const worthwhile = 0.8
/** A size that still serves stays, so that a zoom by hand does not have each of its steps made anew. */
const serves = 0.7

/**
 * The size that frames should be made small to where they are drawn so large; null where they had better come whole.
 * @param drawn the whole picture as drawn, device pixels
 * @param now the size in use; returned itself where it may stay
 */
export function fittingSize(drawn: PictureSize, copy: PictureSize, now: PictureSize | null): PictureSize | null {
  const width = Math.max(2, Math.round(drawn.width))
  const height = Math.max(2, Math.round(drawn.height))
  if (width > worthwhile * copy.width || height > worthwhile * copy.height) return null
  if (now && width <= now.width && height <= now.height && width >= serves * now.width) return now
  return { width, height }
}
