import { useEffect } from 'react'
import { registerKeys, type KeyBinding } from './keys.ts'

/** Registers bindings for as long as the component lives. Keep the array stable (module level or useMemo). */
export function useKeys(bindings: readonly KeyBinding[]): void {
  useEffect(() => registerKeys(bindings), [bindings])
}
