import { describe, expect, test } from 'vitest'
import { Records } from '../../renderer/ui/records.ts'

interface Row { readonly id: string; readonly text: string }
const settle = (): Promise<void> => new Promise((done) => setTimeout(done))

function made() {
  const rows = new Map<string, Row>([['a', { id: 'a', text: 'one' }], ['b', { id: 'b', text: 'two' }]])
  const asked: string[][] = []
  const records = new Records<Row>(async (ids) => {
    asked.push([...ids])
    return ids.flatMap((id) => rows.get(id) ?? [])
  }, (error) => { throw error })
  return { rows, asked, records }
}

describe('records by id', () => {
  test('are asked for once, together, and what is not there is told as such', async () => {
    const { asked, records } = made()
    let heard = 0
    records.watch(['a', 'x'], () => heard++)
    records.watch(['b', 'a'], () => heard++)
    expect(records.get('a')).toBeUndefined()
    await settle()
    expect(asked).toEqual([['a', 'x', 'b']])
    expect([records.get('a'), records.get('x')]).toEqual([{ id: 'a', text: 'one' }, null])
    expect(heard).toBe(2)
  })
  test('are asked for again only where something watches them, and only a change is told', async () => {
    const { rows, asked, records } = made()
    const heard: string[] = []
    const leave = records.watch(['a'], () => heard.push('a'))
    records.watch(['b'], () => heard.push('b'))
    await settle()
    const before = records.get('b')
    leave()
    heard.length = asked.length = 0
    records.changed()
    await settle()
    expect(asked).toEqual([['b']])
    expect(heard).toEqual([])
    expect(records.get('b')).toBe(before)
    expect(records.get('a')).toBeUndefined()
    rows.set('b', { id: 'b', text: 'other' })
    records.changed()
    await settle()
    expect(heard).toEqual(['b'])
    rows.delete('b')
    records.changed()
    await settle()
    expect(records.get('b')).toBeNull()
  })
  test('that changed while they were asked for are asked for once more', async () => {
    let answer = (_rows: Row[]): void => {}
    let questions = 0
    const records = new Records<Row>(() => new Promise((done) => { questions++; answer = done }), () => {})
    records.watch(['a'], () => {})
    await settle()
    records.changed()
    answer([{ id: 'a', text: 'old' }])
    await settle()
    expect(questions).toBe(2)
    answer([{ id: 'a', text: 'new' }])
    await settle()
    expect(records.get('a')?.text).toBe('new')
  })
  test('do not gather: those out of sight are forgotten', async () => {
    const records = new Records<Row>(async (ids) => ids.map((id) => ({ id, text: '' })), () => {})
    for (let i = 0; i < 3000; i += 30) {
      const leave = records.watch(Array.from({ length: 30 }, (_, k) => `${i + k}`), () => {})
      await settle()
      leave()
    }
    expect(records.size).toBeLessThanOrEqual(400)
    expect(records.get('2999')).toEqual({ id: '2999', text: '' })
  })
})
