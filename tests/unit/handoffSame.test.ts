import { mkdtemp, readFile, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { renderHandoff } from '../../electron/handoff/renderHandoff.ts'
import { openMedia } from '../../electron/media/openMedia.ts'
import { lesson, mark, stageClip, talk, wholeTake, writeWav } from '../fixtures/lesson.ts'
import { makeNumberedClip } from '../fixtures/numberedClip.ts'

let folder = ''
const at = (name: string): string => join(folder, name)
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'crossbearing-same-'))
  for (const [name, rotate] of [['left', 0], ['right', 90]] as const) {
    await makeNumberedClip(at(`${name}.mp4`), { width: 270, height: 480, frames: 60, fps: 60, gop: 30, bframes: 2, texture: true, rotate })
  }
})
afterAll(() => rm(folder, { recursive: true, force: true }))

describe('the same walkthrough', () => {
  it('gives the same bytes each time, at 60 a second in portrait', async () => {
    await writeWav(at('second.wav'), talk(0.7))
    const log = lesson(await Promise.all(['left', 'right'].map((id) => stageClip(id, at(`${id}.mp4`)))), [[0, { type: 'play', motion: { rate: 0.5, moving: 'both', loop: null } }]], { marks: { m: mark('m', 'left', { text: 'Now' }) } })
    const request = { ...await wholeTake(log, at('second.wav')), clips: { left: { path: at('left.mp4') }, right: { path: at('right.mp4') } }, settings: { size: '720p', orientation: 'portrait', fps: 60, title: '' } as const }
    const one = await renderHandoff({ ...request, out: at('one.mp4') }, { workers: 2 })
    expect(one.frames).toBe(42)
    for (let again = 0; again < 3; again++) {
      await renderHandoff({ ...request, out: at('two.mp4') }, { workers: 2 })
      expect((await readFile(at('one.mp4'))).equals(await readFile(at('two.mp4')))).toBe(true)
    }
    await using media = await openMedia(at('one.mp4'))
    expect([media.video!.codecpar.width, media.video!.codecpar.height, media.video!.codecpar.level]).toEqual([720, 1280, 32])
  })
})
