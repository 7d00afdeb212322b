import { z } from 'zod'
import type { Bridge } from '../../bridge/index.ts'

const stripSchema = z.object({ frames: z.array(z.number()).min(1), width: z.number().positive(), height: z.number().positive() })

/** Small frames side by side in one picture, and which frames of the clip they are. */
export interface Filmstrip extends z.infer<typeof stripSchema> {
  readonly picture: ImageBitmap
}

/** A clip's filmstrip, or null where the desk has none. */
export async function fetchFilmstrip(desk: Pick<Bridge, 'mediaUrl'>, clipId: string): Promise<Filmstrip | null> {
  try {
    const [facts, picture] = await Promise.all([fetch(desk.mediaUrl(`strip/${clipId}.json`)), fetch(desk.mediaUrl(`strip/${clipId}.jpg`))])
    if (!facts.ok || !picture.ok) return null
    return { ...stripSchema.parse(await facts.json()), picture: await createImageBitmap(await picture.blob()) }
  } catch {
    return null
  }
}

/** The small frame nearest to a frame of the clip: its place in the strip. Frames rise. */
export function nearestSmall(frames: readonly number[], frame: number): number {
  let low = 0
  let high = frames.length - 1
  while (low < high) {
    const middle = (low + high) >> 1
    if (frames[middle]! < frame) low = middle + 1
    else high = middle
  }
  return low > 0 && frame - frames[low - 1]! <= frames[low]! - frame ? low - 1 : low
}
