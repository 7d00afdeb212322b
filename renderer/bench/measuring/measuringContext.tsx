import { createContext, use } from 'react'
import { useStore } from 'zustand'
import type { FilmedAs } from './filmedAs.ts'
import type { MeasuredMarks } from './measuredMarks.ts'
import type { Measuring } from './measuring.ts'
import type { MeasuringState } from './measuringState.ts'
import type { Placer } from './placer.ts'
import type { SoundTie } from './soundTie.ts'

export interface MeasuringParts {
  readonly measuring: Measuring
  readonly placer: Placer
  readonly marks: MeasuredMarks
  readonly sound: SoundTie
  readonly filmed: FilmedAs
}

const PartsContext = createContext<MeasuringParts | null>(null)
export const MeasuringProvider = PartsContext.Provider

export function useMeasuringParts(): MeasuringParts {
  const parts = use(PartsContext)
  if (!parts) throw new Error('A part of measuring is used outside it.')
  return parts
}
export const useMeasuring = <T,>(select: (state: MeasuringState) => T): T => useStore(useMeasuringParts().measuring.state, select)
