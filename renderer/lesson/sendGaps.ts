import { useEffect, useState } from 'react'
import { useDesk } from '../ui/desk.tsx'
import { attempt } from '../ui/notices.ts'

/** Why a walkthrough may not be handed off: the swings in it that are for lessons only, a sentence each. Asked anew when the Shelf changes. */
export function useSendGaps(walkthroughId: string): readonly string[] {
  const desk = useDesk()
  const [gaps, setGaps] = useState<readonly string[]>([])
  useEffect(() => {
    let isHere = true
    const ask = async (): Promise<void> => {
      const found = await attempt(() => desk.call('shelf.gaps', { walkthroughId }))
      if (isHere) setGaps(found?.map(({ why }) => why) ?? [])
    }
    void ask()
    const stop = desk.listen((event) => {
      if (event.type === 'changed' && (event.what === 'shelf' || event.what === 'lessons' || event.what === 'walkthroughs')) void ask()
    })
    return () => {
      isHere = false
      stop()
    }
  }, [desk, walkthroughId])
  return gaps
}
