import { useEffect, useState, type CSSProperties } from 'react'
import { z } from 'zod'
import { useDesk } from './desk.tsx'

const stripSchema = z.object({ frames: z.array(z.number()).min(1), width: z.number().positive(), height: z.number().positive() })

/** Small frames side by side in one picture, and which frames they are. */
export interface Strip extends z.infer<typeof stripSchema> { readonly url: string }

const known = new Map<string, Promise<Strip | null>>()

/** A clip's filmstrip, fetched once it is wanted; null until then, or where there is none. */
export function useStrip(clipId: string, wanted: boolean): Strip | null {
  const desk = useDesk()
  const [strip, setStrip] = useState<Strip | null>(null)
  useEffect(() => {
    if (!wanted) return
    let isHere = true
    const load = async (): Promise<Strip | null> => {
      const answer = await fetch(desk.mediaUrl(`strip/${clipId}.json`))
      return answer.ok ? { ...stripSchema.parse(await answer.json()), url: desk.mediaUrl(`strip/${clipId}.jpg`) } : null
    }
    const loading = known.get(clipId) ?? load().catch(() => null)
    known.set(clipId, loading)
    void loading.then((found) => {
      // A strip that is not there yet may be there at the next look.
      if (!found) known.delete(clipId)
      if (isHere) setStrip(found)
    })
    return () => {
      isHere = false
    }
  }, [clipId, desk, wanted])
  return strip
}

/** Style of a box that shows small frame `at` of a strip as large as fits into a box of the given size in CSS pixels. */
export function stripStyle(strip: Strip, at: number, box: { readonly width: number; readonly height: number }): CSSProperties {
  const n = strip.frames.length
  const scale = Math.min(box.width / strip.width, box.height / strip.height)
  return {
    width: strip.width * scale,
    height: strip.height * scale,
    backgroundImage: `url("${strip.url}")`,
    backgroundSize: `${n * 100}% 100%`,
    backgroundPosition: `${n > 1 ? (at / (n - 1)) * 100 : 0}% 0`,
  }
}
