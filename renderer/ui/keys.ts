import { createStore } from 'zustand/vanilla'
import type { RoomId } from './appStore.ts'

/** Where a key works: everywhere, or in one room. */
export type KeyScope = 'everywhere' | RoomId

export interface KeyBinding {
  /** Names the command, kebab-case, for tests and for finding clashes. */
  readonly id: string
  /**
   * Modifiers and one key joined by '+': 'Space', 'ArrowLeft', 'Shift+ArrowLeft', 'Mod+z', 'Shift+1', '?'. Mod is Cmd on a
   * Mac and Ctrl elsewhere. Letters are lower case. Digits go by their place on the keyboard, the rest by what they write.
   */
  readonly keys: string | readonly string[]
  /** What it does, in a few words, for the sheet of keys. */
  readonly words: string
  readonly scope: KeyScope
  /** A heading in the sheet; by default the room's name. */
  readonly group?: string
  /** Where several keys do one thing each of a row: the sheet shows them once, as these keys and words. */
  readonly row?: { readonly id: string; readonly from: string; readonly to: string; readonly words: string }
  /** Whether it answers now; by default always. */
  when?(): boolean
  /** The event's default is prevented before. */
  run(event: KeyboardEvent): void
  /** Called when the key is let go, for what lasts as long as it is held. */
  released?(event: KeyboardEvent): void
  /** Whether holding the key down runs it again and again; by default not. */
  readonly repeats?: boolean
}

/** All bindings in the order in which they were registered. */
export const keyStore = createStore<{ readonly bindings: readonly KeyBinding[] }>()(() => ({ bindings: [] }))

/** Registers bindings until the returned function is called. */
export function registerKeys(bindings: readonly KeyBinding[]): () => void {
  keyStore.setState((state) => ({ bindings: [...state.bindings, ...bindings] }))
  return () => keyStore.setState((state) => ({ bindings: state.bindings.filter((binding) => !bindings.includes(binding)) }))
}

export const keysOf = (binding: Pick<KeyBinding, 'keys'>): readonly string[] => (typeof binding.keys === 'string' ? [binding.keys] : binding.keys)

const isMac = typeof navigator !== 'undefined' && /Mac|iPhone|iPad/.test(navigator.userAgent)

interface Chord { readonly mod: boolean; readonly shift: boolean; readonly alt: boolean; readonly key: string }

function parse(keys: string): Chord {
  const parts = keys.endsWith('++') ? [...keys.slice(0, -2).split('+'), '+'] : keys === '+' ? ['+'] : keys.split('+')
  const key = parts.at(-1)!
  return { mod: parts.includes('Mod'), shift: parts.includes('Shift'), alt: parts.includes('Alt'), key }
}

/** Only what a chord needs of a keyboard event, so that it can be tested without a window. */
export type Pressed = Pick<KeyboardEvent, 'key' | 'code' | 'ctrlKey' | 'metaKey' | 'shiftKey' | 'altKey'>

/** Whether the event is the chord that `keys` names. */
export function matches(event: Pressed, keys: string, mac: boolean = isMac): boolean {
  const chord = parse(keys)
  const mod = mac ? event.metaKey : event.ctrlKey
  const otherMod = mac ? event.ctrlKey : event.metaKey
  if (mod !== chord.mod || otherMod || event.altKey !== chord.alt) return false
  if (/^\d$/.test(chord.key)) return event.code === `Digit${chord.key}` && event.shiftKey === chord.shift
  const key = event.key === ' ' ? 'Space' : event.key.length === 1 ? event.key.toLowerCase() : event.key
  if (key !== chord.key) return false
  // What needs Shift to be written at all ('?', '+' on some keyboards) is asked for by what it writes.
  const isSign = chord.key.length === 1 && chord.key.toLowerCase() === chord.key.toUpperCase()
  return isSign || event.shiftKey === chord.shift
}

/** Pairs of commands that would answer the same keys in the same place: each '`a` and `b`: keys'. */
export function clashes(bindings: readonly KeyBinding[]): string[] {
  const found: string[] = []
  for (const [i, one] of bindings.entries())
    for (const other of bindings.slice(i + 1)) {
      if (one.when || other.when) continue
      if (one.scope !== other.scope && one.scope !== 'everywhere' && other.scope !== 'everywhere') continue
      for (const keys of keysOf(one)) if (keysOf(other).includes(keys)) found.push(`${one.id} and ${other.id}: ${keys}`)
    }
  return found
}

const names: Readonly<Record<string, string>> = {
  ArrowLeft: '←', ArrowRight: '→', ArrowUp: '↑', ArrowDown: '↓', Escape: 'Esc', Delete: 'Del', Backspace: 'Backspace',
}

/** The chord as it is printed on the sheet: 'Ctrl Z', 'Shift ←'. */
export function keyWords(keys: string, mac: boolean = isMac): readonly string[] {
  const chord = parse(keys)
  const key = names[chord.key] ?? (chord.key.length === 1 ? chord.key.toUpperCase() : chord.key)
  return [...(chord.mod ? [mac ? 'Cmd' : 'Ctrl'] : []), ...(chord.alt ? ['Alt'] : []), ...(chord.shift ? ['Shift'] : []), key]
}

/** Runs a command by its id, for a button that does what a key does; nothing where no room has it now. */
export function runCommand(id: string): void {
  keyStore.getState().bindings.find((binding) => binding.id === id)?.run(new KeyboardEvent('keydown'))
}

/** Whether typing belongs to a field, so that plain keys must be left to it. */
function writes(target: EventTarget | null): boolean {
  if (!(target instanceof HTMLElement)) return false
  if (target.isContentEditable || target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement) return true
  return target instanceof HTMLInputElement && !['checkbox', 'radio', 'range', 'button', 'submit'].includes(target.type)
}

/** Space and Enter on a focused control are the control's own; arrows on a slider or a set of radios are too. */
function isControlsOwn(event: KeyboardEvent): boolean {
  const target = event.target
  if (!(target instanceof HTMLElement)) return false
  if ((event.key === ' ' || event.key === 'Enter') && target.closest('button, a[href], summary, input, [role="menuitem"]')) return true
  return event.key.startsWith('Arrow') && target.closest('input, [role="tab"], [role="menuitem"]') !== null
}

/** Listens on the window and hands keys to the binding of the room that shows; later bindings come first. */
export function startKeys(room: () => RoomId): () => void {
  const held = new Map<string, KeyBinding>()
  const down = (event: KeyboardEvent): void => {
    if (event.defaultPrevented || event.isComposing) return
    const isPlain = !event.ctrlKey && !event.metaKey
    if (isPlain && (writes(event.target) || isControlsOwn(event))) return
    if (document.querySelector('dialog[open]')) return
    // A menu or a list that is open over the room closes by itself, before the room's own Escape.
    if (event.key === 'Escape' && document.querySelector('[popover=auto]:popover-open')) return
    const here = room()
    for (const binding of [...keyStore.getState().bindings].toReversed()) {
      if (binding.scope !== 'everywhere' && binding.scope !== here) continue
      if (!keysOf(binding).some((keys) => matches(event, keys))) continue
      if (binding.when && !binding.when()) continue
      event.preventDefault()
      if (event.repeat && !binding.repeats) return
      if (binding.released) held.set(event.code, binding)
      binding.run(event)
      return
    }
  }
  const up = (event: KeyboardEvent): void => {
    const binding = held.get(event.code)
    held.delete(event.code)
    binding?.released?.(event)
  }
  window.addEventListener('keydown', down)
  window.addEventListener('keyup', up)
  return () => {
    window.removeEventListener('keydown', down)
    window.removeEventListener('keyup', up)
  }
}
