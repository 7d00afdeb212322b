import { createContext, use, useEffect, useState, type ReactNode } from 'react'
import { useStore } from 'zustand'
import type { Batch, Desk } from '../../shared/contract/operations.ts'
import type { Library, LibraryStore } from './libraryStore.ts'

/** What a host gives the window: the desk, the addresses of its media, and a way in for files. */
export interface Bridge extends Desk {
  /** The address of one of the contract's media paths. */
  mediaUrl(path: string): string
  /** Makes a file's bytes reachable for the desk; progress from 0 to 1. */
  stage(file: File, onProgress: (part: number) => void): Promise<Batch['items'][number]['source']>
}

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

/** Part of the library as last told by the desk; renders again when that part changes. */
export const useLibrary = <T,>(select: (library: Library) => T): T => useStore(useContextValue().library.store, select)

/** The time now, renewed each `everyMs`, for words like "waiting 3 days". */
export function useNow(everyMs: number = 60_000): number {
  const [now, setNow] = useState(() => Date.now())
  useEffect(() => {
    const timer = setInterval(() => setNow(Date.now()), everyMs)
    return () => clearInterval(timer)
  }, [everyMs])
  return now
}
