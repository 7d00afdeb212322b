import { useMemo } from 'react'
import { useStore } from 'zustand'
import { ToolButton } from '../ui/Button.tsx'
import { Warning } from '../ui/Field.tsx'
import { tellFault } from '../ui/notices.ts'
import { useArms, useArmsRoom } from './armsContext.tsx'
import { renew } from './put.ts'
import { staleOf } from './stale.ts'

/** Says that marks on the pictures are of an earlier fit, or of what was said earlier, with the key that makes them anew. */
export function Stale() {
  const room = useArmsRoom()
  const loaded = useArms((state) => state.loaded)
  const isWaiting = useArms((state) => state.loading !== null || state.spread === null)
  const said = useStore(room.face)
  const old = useMemo(() => (loaded ? staleOf(loaded.marks, loaded, said) : []), [loaded, said])
  if (old.length === 0) return null
  const figures = old.filter((mark) => mark.figure).length
  const words = [figures > 0 ? 'the figure is of an earlier fit' : '', figures < old.length ? 'the fan is of other numbers than these' : ''].filter(Boolean).join('; ')
  return (
    <p className="arms-said arms-stale" role="status">
      <Warning /><span>On the pictures {words}.</span>
      <ToolButton keys="R" disabled={isWaiting} onClick={() => void renew(room).catch(tellFault)}>Renew</ToolButton>
    </p>
  )
}
