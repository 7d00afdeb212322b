import { useEffect, useMemo } from 'react'
import { useKeys } from '../../ui/useKeys.ts'
import { useParts } from '../benchContext.tsx'
import type { Measuring } from '../measuring/measuring.ts'
import { bearingKeys, Bearings } from './bearings.ts'
import { OneSwing, oneSwingKeys } from './oneSwing.ts'
import { RepeatsOnBench } from './repeats.ts'

/** The shaft at the top as marks, for as long as the Bench is on the page. */
export function useBearings(measuring: Measuring): { readonly bearings: Bearings; readonly oneSwing: OneSwing; readonly repeats: RepeatsOnBench } {
  const { bench } = useParts()
  const bearings = useMemo(() => new Bearings(bench, measuring), [bench, measuring])
  const oneSwing = useMemo(() => new OneSwing(bench, measuring), [bench, measuring])
  const repeats = useMemo(() => new RepeatsOnBench(bench), [bench])
  useEffect(() => bearings.start(), [bearings])
  useEffect(() => oneSwing.start(), [oneSwing])
  useEffect(() => repeats.start(), [repeats])
  useKeys(useMemo(() => [...bearingKeys(bearings), ...oneSwingKeys(oneSwing)], [bearings, oneSwing]))
  return useMemo(() => ({ bearings, oneSwing, repeats }), [bearings, oneSwing, repeats])
}
export { TwoBearings } from './TwoBearings.tsx'
