/** Why a frame of the original could not be had. */
export class OriginalError extends Error {}

/**
 * Fetches one frame of the original from the desk (the contract's `frame/CLIP/INDEX`: planes of I420, BT.709, one after the
 * other) as a VideoFrame that the caller closes.
 */
export async function fetchOriginal(url: string, signal: AbortSignal): Promise<VideoFrame> {
  const answer = await fetch(url, { signal, credentials: 'same-origin' })
  if (!answer.ok) throw new OriginalError(`The original's picture could not be read (${answer.status}).`)
  const codedWidth = Number(answer.headers.get('x-width'))
  const codedHeight = Number(answer.headers.get('x-height'))
  const fullRange = answer.headers.get('x-range') === 'full'
  return new VideoFrame(await answer.arrayBuffer(), {
    format: 'I420', codedWidth, codedHeight, timestamp: 0,
    colorSpace: { primaries: 'bt709', transfer: 'bt709', matrix: 'bt709', fullRange },
  })
}
