import { describe, expect, it } from 'vitest'
import { clashes, keyWords, matches, type KeyBinding, type Pressed } from '../../renderer/ui/keys.ts'

const press = (key: string, more: Partial<Pressed> = {}): Pressed => ({ key, code: '', ctrlKey: false, metaKey: false, shiftKey: false, altKey: false, ...more })

describe('a chord', () => {
  it('answers its own key and modifiers only', () => {
    expect(matches(press('ArrowLeft'), 'ArrowLeft', false)).toBe(true)
    expect(matches(press('ArrowLeft', { shiftKey: true }), 'ArrowLeft', false)).toBe(false)
    expect(matches(press('ArrowLeft', { shiftKey: true }), 'Shift+ArrowLeft', false)).toBe(true)
    expect(matches(press('ArrowRight'), 'ArrowLeft', false)).toBe(false)
    expect(matches(press(' '), 'Space', false)).toBe(true)
    expect(matches(press('ArrowLeft', { altKey: true }), 'ArrowLeft', false)).toBe(false)
  })
  it('takes Mod for Ctrl, on a Mac for Cmd', () => {
    const z = (more: Partial<Pressed>) => press('z', more)
    expect(matches(z({ ctrlKey: true }), 'Mod+z', false)).toBe(true)
    expect(matches(z({ metaKey: true }), 'Mod+z', false)).toBe(false)
    expect(matches(z({ metaKey: true }), 'Mod+z', true)).toBe(true)
    expect(matches(z({ ctrlKey: true }), 'Mod+z', true)).toBe(false)
    expect(matches(z({}), 'Mod+z', false)).toBe(false)
    expect(matches(press('Z', { ctrlKey: true, shiftKey: true }), 'Mod+Shift+z', false)).toBe(true)
    expect(matches(press('Z', { ctrlKey: true, shiftKey: true }), 'Mod+z', false)).toBe(false)
  })
  it('finds digits by their place, whatever a layout writes there', () => {
    expect(matches(press('&', { code: 'Digit1' }), '1', false)).toBe(true)
    expect(matches(press('!', { code: 'Digit1', shiftKey: true }), 'Shift+1', false)).toBe(true)
    expect(matches(press('1', { code: 'Digit1', shiftKey: true }), '1', false)).toBe(false)
  })
  it('finds signs by what is written, whatever keys that takes', () => {
    expect(matches(press('?', { shiftKey: true, code: 'Slash' }), '?', false)).toBe(true)
    expect(matches(press('?', { code: 'IntlRo' }), '?', false)).toBe(true)
    expect(matches(press('+', { shiftKey: true }), '+', false)).toBe(true)
    expect(matches(press('+', { ctrlKey: true }), 'Mod++', false)).toBe(true)
  })
  it('is printed in words', () => {
    expect(keyWords('Mod+Shift+z', false)).toEqual(['Ctrl', 'Shift', 'Z'])
    expect(keyWords('Mod+z', true)).toEqual(['Cmd', 'Z'])
    expect(keyWords('Shift+ArrowLeft', false)).toEqual(['Shift', '←'])
    expect(keyWords('+', false)).toEqual(['+'])
  })
})

describe('clashes', () => {
  const binding = (id: string, keys: string, scope: KeyBinding['scope'], more: Partial<KeyBinding> = {}): KeyBinding => ({ id, keys, scope, words: id, run: () => undefined, ...more })
  it('are the same keys in the same place, or everywhere', () => {
    expect(clashes([binding('a', 'x', 'bench'), binding('b', 'x', 'bench')])).toEqual(['a and b: x'])
    expect(clashes([binding('a', 'x', 'everywhere'), binding('b', 'x', 'lesson')])).toEqual(['a and b: x'])
  })
  it('are none in different rooms, on different keys, or where a condition parts them', () => {
    expect(clashes([binding('a', 'x', 'bench'), binding('b', 'x', 'lesson'), binding('c', 'y', 'bench')])).toEqual([])
    expect(clashes([binding('a', 'x', 'bench', { when: () => true }), binding('b', 'x', 'bench')])).toEqual([])
  })
})
