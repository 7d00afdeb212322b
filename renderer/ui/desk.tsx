import { createContext, use, useEffect, useState, type ReactNode } from 'react'
import { useStore } from 'zustand'
import type { Bridge } from '../bridge/index.ts'
import type { Library, LibraryRecords, LibraryStore } from './libraryStore.ts'

const DeskContext = createContext<{ readonly bridge: Bridge; readonly library: LibraryStore } | null>(null)

export function DeskProvider({ bridge, library, children }: { bridge: Bridge; library: LibraryStore; children: ReactNode }) {
  const [value] = useState({ bridge, library })
  return <DeskContext value={value}>{children}</DeskContext>
}

const useContextValue = () => {
  const value = use(DeskContext)
  if (!value) throw new Error('The desk is used outside DeskProvider.')
  return value
}

/** The desk: `call`, `listen`, `mediaUrl`, `stage`. */
export const useDesk = (): Bridge => useContextValue().bridge

const silenceMs = 2000

/** Whether the desk has been out of reach for a while; a short gap, as at the start, is not worth a word. */
export function useSilence(): boolean {
  const desk = useDesk()
  const [silent, setSilent] = useState(false)
  useEffect(() => {
    let timer: ReturnType<typeof setTimeout> | undefined
    const look = (): void => {
      clearTimeout(timer)
      if (desk.connected) setSilent(false)
      else timer = setTimeout(() => setSilent(true), silenceMs)
    }
    look()
    const stop = desk.onConnection(look)
    return () => {
      clearTimeout(timer)
      stop()
    }
  }, [desk])
  return silent
}

/** Part of the library as last told by the desk; renders again when that part changes. */
export const useLibrary = <T,>(select: (library: Library) => T): T => useStore(useContextValue().library.store, select)

/** Records of one kind; rooms use the hooks of useRecords.ts. */
export const useRecordsOf = <K extends keyof LibraryRecords>(kind: K): LibraryRecords[K] => useContextValue().library.records[kind]

/** The time now, renewed each `everyMs`, for words like "waiting 3 days". */
export function useNow(everyMs: number = 60_000): number {
  const [now, setNow] = useState(() => Date.now())
  useEffect(() => {
    const timer = setInterval(() => setNow(Date.now()), everyMs)
    return () => clearInterval(timer)
  }, [everyMs])
  return now
}
