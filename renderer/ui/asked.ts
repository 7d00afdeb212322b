import { useCallback, useEffect, useRef, useState } from 'react'
import type { DeskEvent, Input, OperationName, Output } from '../../shared/contract/operations.ts'
import { useDesk } from './desk.tsx'
import { tellFault } from './notices.ts'

export type Part = Extract<DeskEvent, { type: 'changed' }>['what']

/**
 * The desk's answer to a question, asked again when the question changes and when any of these parts of the library does;
 * null until the first answer. Keep `on` stable (module level). The answer before stays until the next is there.
 */
export function useAsked<N extends OperationName>(name: N, input: Input<N> | null, on: readonly Part[]): { readonly answer: Output<N> | null; readonly again: () => Promise<void> } {
  const desk = useDesk()
  const [answer, setAnswer] = useState<Output<N> | null>(null)
  const serial = useRef(0)
  const text = JSON.stringify(input)
  const again = useCallback(async (): Promise<void> => {
    const asked = JSON.parse(text) as Input<N> | null
    const own = ++serial.current
    if (asked === null) return setAnswer(null)
    try {
      const given = await desk.call(name, asked)
      if (own === serial.current) setAnswer(given)
    } catch (error) {
      // What has gone meanwhile is told by the list that it is gone from.
      if (own === serial.current && (error as { fault?: { kind: string } }).fault?.kind !== 'not-found') tellFault(error)
    }
  }, [desk, name, text])
  useEffect(() => {
    void again()
    let due = 0
    const stop = desk.listen((event) => {
      if (event.type !== 'changed' || !on.includes(event.what) || due !== 0) return
      // Several changes of one step cost one question.
      due = window.setTimeout(() => {
        due = 0
        void again()
      }, 30)
    })
    return () => {
      window.clearTimeout(due)
      stop()
      serial.current++
    }
  }, [desk, again, on])
  return { answer, again }
}
