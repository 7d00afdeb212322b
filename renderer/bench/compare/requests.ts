import type { Swing } from '../../../shared/contract/student.ts'
import type { BenchRequest } from '../../ui/appStore.ts'

/** The swing that a request names; null where it names a clip, or nothing is requested. */
export const swingOfRequest = (request: BenchRequest | null | undefined): string | null => (request && 'swingId' in request ? request.swingId : null)

/** The clips that a request to the Bench would put on its panes; `swing` is the one that it names, null where there is none. */
export function clipsOfRequest(request: BenchRequest, swing: Swing | null): readonly string[] {
  if ('clipId' in request) return [request.clipId]
  return [swing?.leftClipId, swing?.rightClipId].filter((id) => typeof id === 'string')
}

export const sameRequest = (one: BenchRequest | null, two: BenchRequest | null): boolean => JSON.stringify(one) === JSON.stringify(two)
