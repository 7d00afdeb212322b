import type { Student } from '../../shared/contract/student.ts'
import type { Bridge } from '../bridge/index.ts'
import { boardStore, onDisk } from '../playback/board.ts'
import { tellFault } from '../ui/notices.ts'
import type { ArmsRoom } from './armsRoom.ts'
import { loadSwing } from './load.ts'
import { staleOf } from './stale.ts'

/** Milliseconds of rest after a point was placed before its swing is fitted to see whether the figure still holds: a fit takes a moment. */
const restMs = 2500

/** While the coach places points in another room: says so once where the figure on the pictures comes to be of an earlier fit. Until the returned function is called. */
export function watchMarks(room: Pick<ArmsRoom, 'face'>, desk: Pick<Bridge, 'call' | 'listen'>, students: readonly Student[]): () => void {
  let timer: ReturnType<typeof setTimeout> | undefined
  const look = async (): Promise<void> => {
    const { board, swing, clipIds } = boardStore.getState()
    const figures = Object.values(board?.marks() ?? {}).filter((mark) => mark.figure)
    if (figures.length === 0) return
    await onDisk()
    const loaded = await loadSwing(desk, { swing, clipIds: [...new Set(clipIds.filter((id) => id !== null))] }, students)
    if (staleOf(figures, loaded, room.face.getState()).length === 0) return
    tellFault(Object.assign(new Error('earlier fit'), { fault: { message: 'The arms on the pictures are of an earlier fit.', remedy: 'Open Arms and press R: they are made anew.' } }))
  }
  const stop = desk.listen((event) => {
    if (event.type !== 'changed' || event.what !== 'digitising') return
    clearTimeout(timer)
    // Where a swing cannot be read just now there is nothing to say either.
    timer = setTimeout(() => void look().catch(() => {}), restMs)
  })
  return () => {
    clearTimeout(timer)
    stop()
  }
}
