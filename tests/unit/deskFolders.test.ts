import { mkdirSync, writeFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { afterAll, describe, expect, test } from 'vitest'
import { openFakeDesk, temporaryFolder } from '../fixtures/desk.ts'

describe('looking round the folders', () => {
  const looked = temporaryFolder()
  const library = temporaryFolder()
  const root = looked.path
  const desk = openFakeDesk(library.path)
  afterAll(async () => {
    await desk.close()
    for (const folder of [looked, library]) folder[Symbol.dispose]()
  })
  for (const name of ['Lessons 10', 'lessons 9', '.hidden']) mkdirSync(join(root, name))
  writeFileSync(join(root, 'a file'), '')

  test('lists the folders of a folder in their natural order, without files and hidden ones, and the way up', async () => {
    const { path, parent, folders, places } = await desk.call('folder.list', { path: root })
    expect(path).toBe(root)
    expect(parent).toBe(dirname(root))
    expect(folders).toEqual([{ name: 'lessons 9', path: join(root, 'lessons 9') }, { name: 'Lessons 10', path: join(root, 'Lessons 10') }])
    expect(places.map(({ name }) => name)).toContain('Home')
  })

  test('a short name, a file and a folder that is not there are refused in words', async () => {
    await expect(desk.call('folder.list', { path: 'lessons' })).rejects.toMatchObject({ fault: { kind: 'bad-input' } })
    await expect(desk.call('folder.list', { path: join(root, 'a file') })).rejects.toMatchObject({ fault: { kind: 'not-found', where: join(root, 'a file') } })
    await expect(desk.call('folder.list', { path: join(root, 'nowhere') })).rejects.toMatchObject({ fault: { kind: 'not-found' } })
  })
})
