import { createContext, use, useEffect, useRef, type ComponentProps } from 'react'
import { useStore } from 'zustand'
import type { ArmsRoom, Shown } from './armsRoom.ts'
import type { ArmsState } from './armsState.ts'

const RoomContext = createContext<ArmsRoom | null>(null)
export const ArmsProvider = RoomContext.Provider

export function useArmsRoom(): ArmsRoom {
  const room = use(RoomContext)
  if (!room) throw new Error('A part of the Arms room is used outside it.')
  return room
}
export const useArms = <T,>(select: (state: ArmsState) => T): T => useStore(useArmsRoom().state, select)

/** Text that follows the pose without React: it is written anew only when it says something else. */
export function Live({ read, ...rest }: ComponentProps<'span'> & { readonly read: (shown: Shown, state: ArmsState) => string }) {
  const room = useArmsRoom()
  const span = useRef<HTMLSpanElement>(null)
  useEffect(() => room.onTold(() => {
    const words = room.shown ? read(room.shown, room.state.getState()) : ''
    if (span.current && span.current.textContent !== words) span.current.textContent = words
  }), [room, read])
  return <span {...rest} ref={span} />
}

/** A slider that follows the pose without React, and moves it. */
export function LiveSlider({ value, valueWords, onMove, ...rest }: Omit<ComponentProps<'input'>, 'value' | 'onChange'> & {
  readonly value: (shown: Shown) => number
  readonly valueWords: (shown: Shown, state: ArmsState) => string
  readonly onMove: (value: number) => void
}) {
  const room = useArmsRoom()
  const input = useRef<HTMLInputElement>(null)
  useEffect(() => room.onTold(() => {
    const { current } = input
    if (!current || !room.shown) return
    const next = String(Math.round(value(room.shown) * 100) / 100)
    if (current.value !== next) current.value = next
    const words = valueWords(room.shown, room.state.getState())
    if (current.getAttribute('aria-valuetext') !== words) current.setAttribute('aria-valuetext', words)
  }), [room, value, valueWords])
  return <input type="range" {...rest} ref={input} defaultValue={0} onInput={(event) => onMove(Number(event.currentTarget.value))} />
}
