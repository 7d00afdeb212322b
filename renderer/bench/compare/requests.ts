import type { Swing } from '../../../shared/contract/student.ts'
import type { BenchRequest } from '../../ui/appStore.ts'

/** The clips that a request to the Bench would put on its panes. */
export function clipsOfRequest(request: BenchRequest, swings: readonly Swing[]): readonly string[] {
  if ('clipId' in request) return [request.clipId]
  const swing = swings.find(({ id }) => id === request.swingId)
  return [swing?.leftClipId, swing?.rightClipId].filter((id) => typeof id === 'string')
}

export const sameRequest = (one: BenchRequest | null, two: BenchRequest | null): boolean => JSON.stringify(one) === JSON.stringify(two)
