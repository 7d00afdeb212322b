import { useEffect, useMemo } from 'react'
import { useKeys } from '../../ui/useKeys.ts'
import { useParts } from '../benchContext.tsx'
import type { Measuring } from '../measuring/measuring.ts'
import { bearingKeys, Bearings } from './bearings.ts'

/** The shaft at the top as marks, for as long as the Bench is on the page. */
export function useBearings(measuring: Measuring): Bearings {
  const { bench } = useParts()
  const bearings = useMemo(() => new Bearings(bench, measuring), [bench, measuring])
  useEffect(() => bearings.start(), [bearings])
  useKeys(useMemo(() => bearingKeys(bearings), [bearings]))
  return bearings
}
export { TwoBearings } from './TwoBearings.tsx'
