/** Measuring on the Bench: positions by key, points placed by clicks where the truth has them, measures beside the truth, undo, reload. */
import { readFile } from 'node:fs/promises'
import type { ClipTruth } from '../../electron/desk/demo/kit.ts'
import { parsePointsText } from '../../shared/contract/pointsFile.ts'
import { seriousFindings } from './support/axe.ts'
import { chooseToMeasure, goTo, lookAt, openAgain, openPair, placeAll, press, reading, rowOf, seed, truths, withDemoPair } from './support/measuringBench.ts'
import { expect, test } from './support/desk.ts'

withDemoPair()

test('points placed by clicks become measures with errors that hold the truth; undone, redone, and there after a reload', async ({ page, desk }) => {
  await openPair(page, desk)
  const [front, line] = truths as [ClipTruth, ClipTruth]
  await press(page, 'v')
  const column = page.getByRole('complementary', { name: 'Evidence' })
  await expect(column.getByText('Nothing is placed yet')).toBeVisible()

  // Positions by key at the frame shown; out of order is refused in a sentence and changes nothing.
  for (const [name, digit] of [['address', '1'], ['takeaway', '2'], ['top', '5'], ['impact', '8']] as const) {
    await goTo(page, 0, front.events[name]!.frame)
    await press(page, 'l', digit)
  }
  await goTo(page, 0, 75)
  await press(page, 'l', '2')
  await expect(page.locator('.prompt-refusal')).toContainText('Positions are out of order: top (frame 59) must come after takeaway (frame 76).')
  await goTo(page, 0, 0)
  await press(page, 'k', '5')
  expect((await lookAt(page, null)).frame).toBe(58)
  const tempo = await reading(page, 'tempo-ratio', 'swing')
  expect(Math.abs(tempo.value - front.swing.tempoRatio)).toBeLessThan(3 * tempo.sigma)

  // All that is read at the top, in both views.
  await chooseToMeasure(page, 'position:top', 'top')
  const placed = await placeAll(page)
  expect(placed).toBeGreaterThan(25)
  await expect(column.getByText('Nothing is placed yet')).toBeHidden()

  // Beside the truth: the lead arm from straight down in the plane of the world that the camera faces.
  const frame = front.frames[58]!.world
  const down = (from: readonly number[], to: readonly number[]): number => (Math.atan2(-(to[0]! - from[0]!), -(to[1]! - from[1]!)) * 180) / Math.PI
  const arm = await reading(page, 'lead-arm-to-vertical', 'top')
  expect(Math.abs(arm.value - down(frame.leadShoulder!, frame.leadWrist!))).toBeLessThan(3 * arm.sigma)
  expect(arm.sigma).toBeLessThan(5)
  const lean = await reading(page, 'inclination', 'top')
  const spine = line.frames[56]!.world
  const truth = (Math.atan2(spine.spineTop![2] - spine.spineBase![2], spine.spineTop![1] - spine.spineBase![1]) * 180) / Math.PI
  expect(Math.abs(lean.value - truth)).toBeLessThan(3 * lean.sigma)
  const hips = await reading(page, 'hip-shift', 'top')
  const middle = (world: Readonly<Record<string, readonly number[]>>): number => (world.leadHip![0]! + world.trailHip![0]!) / 2
  expect(Math.abs(hips.value - 1000 * (middle(frame) - middle(front.frames[front.events.address!.frame]!.world)))).toBeLessThan(3 * hips.sigma)

  // What a number rests on, by keyboard.
  await rowOf(page, 'hip-shift', 'top').focus()
  await expect(page.locator('.evidence-basis')).toContainText('positive toward the target')
  await expect(page.locator('.evidence-basis')).toContainText('scale from')

  // Undo takes the last point back, redo brings it; on disk within a second.
  const clipIds = (await desk.call('clip.list', {})).map(({ id }) => id)
  const onDisk = async () => (await desk.call('digitising.list', { clipIds })).length
  // The last of them are on disk within a second of the last click.
  await page.waitForTimeout(1000)
  const all = await onDisk()
  expect(all).toBe(placed + 4)
  await press(page, 'Control+z', 'Control+z')
  await expect.poll(onDisk, { timeout: 1500 }).toBe(all - 2)
  await press(page, 'Control+Shift+z', 'Control+Shift+z')
  await expect.poll(onDisk, { timeout: 1500 }).toBe(all)

  const before = await page.locator('.evidence-row').allInnerTexts()
  await page.waitForTimeout(400)
  await openAgain(page)
  await expect.poll(() => page.locator('.evidence-row').allInnerTexts()).toEqual(before)

  // The points file that is handed out is one that the program reads.
  const download = page.waitForEvent('download')
  await column.getByRole('button', { name: 'Results' }).click()
  await page.getByRole('menuitem', { name: 'Save the points file' }).click()
  const parsed = parsePointsText(await readFile(await (await download).path(), 'utf8'))
  expect(parsed.ok && parsed.file.views.map((view) => view.view)).toEqual(['face-on', 'down-the-line'])
})

/** Puts the truth's points of some frames on disk, as if placed, with the positions of the face-on clip. */

test('two clips are tied by the sound of impact, with its error; what cannot be heard is said', async ({ page, desk }) => {
  await openPair(page, desk)
  const tieNow = () => page.evaluate(() => crossbearingTest.bench!.store.stage.tie)
  // Tied wrong by some frames.
  await goTo(page, 0, 20)
  await goTo(page, 1, 44)
  await press(page, 't', 't')
  expect(await tieNow()).not.toBeNull()
  const wrong = await tieNow()
  await press(page, 'v', 'Shift+L')
  await expect(page.getByText(/Tied by the sound of impact, \u00b1\d\.\d ms/)).toBeVisible()
  const tie = (await tieNow())!
  expect(tie).not.toEqual(wrong)
  const [front, line] = truths as [ClipTruth, ClipTruth]
  const seconds = (truth: ClipTruth, tick: number): number => (tick - truth.events.impact!.tick) / ((truth.timescale * truth.captureRate) / truth.playRate)
  // The film's sound takes no time to the phone, so that what is taken off for it shows whole: a difference of .9 m at usual places.
  const off = seconds(line, tie.right) - seconds(front, tie.left)
  console.log(`    tied by sound: ${(1000 * off).toFixed(1)} ms from the truth`)
  const part = page.locator('.evidence-part', { hasText: 'Scale, level, time' })
  await part.locator('summary').click()
  const words = await part.locator('.calibration-tie').innerText()
  const sigma = Number(/\u00b1 ([\d.]+) ms by the sound of impact/.exec(words)?.[1])
  expect(sigma).toBeGreaterThan(1)
  expect(Math.abs(1000 * off)).toBeLessThan(2 * sigma)
  // On disk with the swing, so that it is the same when it is opened again.
  await expect.poll(async () => (await desk.call('swing.list', {}))[0]?.tie).toEqual(tie)
  await openAgain(page)
  await page.locator('.evidence-part', { hasText: 'Scale, level, time' }).locator('summary').click()
  await expect(page.locator('.calibration-tie')).toContainText('by the sound of impact')
  // Nudged by hand it is a tie by eye.
  await press(page, ']')
  await expect(page.locator('.calibration-tie')).toContainText('by eye, to a frame')

  // One clip alone cannot be tied to anything.
  await page.evaluate(() => {
    const bench = crossbearingTest.bench!
    bench.dispatch([{ type: 'stage', stage: { ...bench.store.stage, layout: 'single', panes: [bench.store.stage.panes[0], { ...bench.store.stage.panes[1], clipId: null }], tie: null } }])
  })
  await press(page, 'Shift+L')
  await expect(page.locator('.prompt-refusal')).toContainText('A tie by sound needs a clip face-on and one down the line')
})

test('a dragged point moves its measures under the hand, and is one step of undo; lines, degrees and sets come from points', async ({ page, desk }) => {
  await openPair(page, desk)
  await seed(desk, ['address', 'takeaway', 'top', 'impact'])
  await openAgain(page)
  await expect(rowOf(page, 'lead-arm-to-vertical', 'top')).toBeVisible()
  const [front] = truths
  const column = page.getByRole('complementary', { name: 'Evidence' })

  // Hold Ctrl and drag the lead wrist at the top.
  await press(page, 'k', '5')
  await expect.poll(async () => (await lookAt(page, null)).shown).toBe(58)
  await chooseToMeasure(page, 'position:top', 'top')
  const wrist = front.frames[58]!.pixel.leadWrist!
  const at = await lookAt(page, wrist)
  const before = await reading(page, 'lead-arm-to-vertical', 'top')
  await page.evaluate(() => {
    const row = document.querySelector('.evidence-row[data-measure="lead-arm-to-vertical"][data-at="top"] .evidence-value')!
    const times: number[] = []
    let moved = 0
    document.querySelector('.stage-host')!.addEventListener('pointermove', () => { moved = performance.now() }, true)
    new MutationObserver(() => { if (moved) times.push(performance.now() - moved) }).observe(row, { characterData: true, childList: true, subtree: true })
    Object.assign(globalThis, { dragTimes: times })
  })
  await page.keyboard.down('Control')
  await page.mouse.move(at.x, at.y)
  await page.mouse.down()
  for (let i = 1; i <= 12; i++) {
    await page.mouse.move(at.x, at.y + 2 * i)
    await page.waitForTimeout(120)
  }
  await expect(page.locator('.loupe')).toBeVisible()
  const during = await reading(page, 'lead-arm-to-vertical', 'top')
  expect(Math.abs(during.value - before.value)).toBeGreaterThan(3)
  await page.mouse.up()
  await page.keyboard.up('Control')
  await expect(page.locator('.loupe')).toBeHidden()
  const times = await page.evaluate(() => (globalThis as unknown as { dragTimes: number[] }).dragTimes.toSorted((a, b) => a - b))
  console.log(`    a dragged point: ${times.length} changes of its measure, from the move to the digits ${times[times.length >> 1]?.toFixed(0)} ms in the middle, ${times.at(-1)?.toFixed(0)} ms at most`)
  expect(times.length).toBeGreaterThan(3)
  await press(page, 'Control+z')
  await expect.poll(async () => (await reading(page, 'lead-arm-to-vertical', 'top')).value).toBe(before.value)
  // Three times, without sight of the last: the mean stands, and the hand's error is learnt.
  await page.keyboard.down('Control')
  await page.mouse.click(at.x, at.y)
  await page.keyboard.up('Control')
  await press(page, 'r')
  await expect(page.locator('.placing-prompt')).toContainText('Lead wrist again')
  await page.mouse.click(at.x + 3, at.y)
  await expect(page.locator('.placing-prompt')).toContainText('3 of 3')
  await page.mouse.click(at.x, at.y + 3)
  await expect.poll(async () => (await desk.call('settings.get', {})).clickError.freedom).toBe(4)
  const listed = async () => desk.call('digitising.list', { clipIds: (await desk.call('clip.list', {})).map(({ id }) => id) })
  await expect.poll(async () => (await listed()).filter((record) => record.kind === 'landmark' && record.placed === 3).length, { timeout: 1500 }).toBe(1)
  await press(page, 'Control+z')
  await expect.poll(async () => (await reading(page, 'lead-arm-to-vertical', 'top')).value).toBe(before.value)

  // By keys, a pixel at a time; deleted, and back.
  await page.keyboard.down('Control')
  await page.mouse.click(at.x, at.y)
  await page.keyboard.up('Control')
  await press(page, 'Alt+ArrowDown', 'Alt+ArrowDown')
  await expect.poll(async () => (await reading(page, 'lead-arm-to-vertical', 'top')).value).not.toBe(before.value)
  await press(page, 'Control+z', 'Control+z')
  const count = () => desk.call('clip.list', {}).then((clips) => desk.call('digitising.list', { clipIds: clips.map(({ id }) => id) })).then((list) => list.length)
  const all = await count()
  await press(page, 'Delete')
  await expect.poll(count, { timeout: 1500 }).toBe(all - 1)
  await press(page, 'Control+z', 'Escape', 'Escape', 'Escape')
  await expect.poll(count, { timeout: 1500 }).toBe(all)
  await expect.poll(async () => (await reading(page, 'lead-arm-to-vertical', 'top')).value).toBe(before.value)

  // Lines of address by one command; degrees of the shaft line beside the truth's.
  const marks = () => page.evaluate(() => Object.values(crossbearingTest.bench!.store.stage.marks))
  await press(page, 'z')
  await expect.poll(async () => (await marks()).map(({ meaning }) => meaning).toSorted()).toEqual(['elbow-line', 'head-box', 'shaft-line'])
  const shaft = (await marks()).find(({ meaning }) => meaning === 'shaft-line')!
  await page.evaluate((id) => crossbearingTest.bench!.marks.select(id), shaft.id)
  await press(page, ';')
  const [butt, head] = [front.frames[front.events.address!.frame]!.pixel.butt!, front.frames[front.events.address!.frame]!.pixel.clubhead!]
  const slope = (Math.atan2(Math.abs(head[1] - butt[1]), Math.abs(head[0] - butt[0])) * 180) / Math.PI
  await expect.poll(async () => (await marks()).find(({ id }) => id === shaft.id)!.text).toMatch(new RegExp(`^${slope.toFixed(1)} \u00b1 [\\d.]+\u00b0 from level$`))
  // The box tells of the head by its points.
  await column.getByText('Marks that measure').click()
  await expect(column.getByText(/^The head (leaves its box at frame \d+ and gets|stays in its box on all \d+ frames)/)).toBeVisible()
  await column.getByRole('button', { name: 'Inclination, frame by frame' }).click()
  await expect.poll(async () => (await marks()).filter(({ meaning }) => meaning === 'body-line').length).toBe(10)
  await press(page, 'Control+z')
  await expect.poll(async () => (await marks()).length).toBe(3)

  // A set: saved, its marks cleared, laid on again by the same points: where it was.
  await column.getByLabel('Name of the set').fill('Set-up')
  await column.getByRole('button', { name: 'Save', exact: true }).click()
  await expect(column.getByText('Set-up', { exact: true })).toBeVisible()
  const placed = (await marks()).map(({ meaning, points }) => [meaning, points.map((p) => p.map((x) => Math.round(x)))])
  await press(page, 'Shift+Delete')
  await expect.poll(async () => (await marks()).length).toBe(0)
  await column.getByRole('button', { name: 'Lay Set-up on this clip' }).click()
  await expect.poll(async () => (await marks()).map(({ meaning, points }) => [meaning, points.map((p) => p.map((x) => Math.round(x)))]).toSorted()).toEqual(placed.toSorted())
})

test('what the scale is taken from is left out by key and counted again, undone, and left out after a reload', async ({ page, desk }) => {
  await openPair(page, desk)
  await seed(desk, ['address', 'takeaway', 'top', 'impact'])
  await openAgain(page)
  const column = page.getByRole('complementary', { name: 'Evidence' })
  await expect(rowOf(page, 'stance-width', 'address')).toBeVisible()
  await column.getByText('Scale, level, time').click()
  const sources = column.getByRole('list', { name: 'What the scale is taken from' })
  await expect(sources.getByRole('listitem')).toHaveCount(2)
  for (const words of await sources.getByRole('listitem').allInnerTexts()) expect(words.replaceAll('\n', ' ')).toMatch(/^(?:Club|Stature) [\d.]+ \u00b1 [\d.]+ mm a pixel/)
  const before = await reading(page, 'stance-width', 'address')
  const stature = sources.getByRole('checkbox', { name: 'Stature' })
  await stature.focus()
  await page.keyboard.press('Space')
  await expect(sources.getByText('left out')).toBeVisible()
  await expect(column.getByText(/^Stature left out: \d+ measures? moved, most .+ of its error\)/)).toBeVisible()
  const after = await reading(page, 'stance-width', 'address')
  expect(after.value).not.toBe(before.value)
  // Shown to two figures: what is lost may not reach the second.
  expect(after.sigma).toBeGreaterThanOrEqual(before.sigma)
  await press(page, 'Control+z')
  await expect(stature).toBeChecked()
  await expect.poll(async () => (await reading(page, 'stance-width', 'address')).value).toBe(before.value)
  await press(page, 'Control+Shift+z')
  await expect(stature).not.toBeChecked()
  const leftOut = async () => (await desk.call('digitising.list', { clipIds: (await desk.call('clip.list', {})).map(({ id }) => id) })).flatMap((record) => (record.kind === 'left-out' ? [record.source] : []))
  await expect.poll(leftOut, { timeout: 1500 }).toEqual(['stature'])
  await openAgain(page)
  await column.getByText('Scale, level, time').click()
  await expect(stature).not.toBeChecked()
  await stature.check()
  await expect.poll(leftOut, { timeout: 1500 }).toEqual([])
})

test('lead and trail the wrong way round are said in one sentence, and exchanged by one press with undo', async ({ page, desk }) => {
  await openPair(page, desk)
  await seed(desk, ['address', 'takeaway', 'top', 'impact'], (point, view) => (view === 'face-on' && point.endsWith('Hip') ? (point === 'leadHip' ? 'trailHip' : 'leadHip') : point))
  await openAgain(page)
  const warning = page.locator('.evidence-list .evidence-warning')
  await expect(warning).toHaveText(/Face-on lead and trail of the hips are the wrong way round throughout for a right-handed swing: exchange them\./)
  await expect(warning).toHaveCount(1)
  await warning.getByRole('button', { name: 'Exchange' }).click()
  await expect(warning).toHaveCount(0)
  await press(page, 'Control+z')
  await expect(warning).toHaveCount(1)
})

test('the evidence does not open by itself while recording', async ({ page, desk }) => {
  await openPair(page, desk)
  const column = page.getByRole('complementary', { name: 'Evidence' })
  await expect(column).toBeHidden()
  await page.getByRole('button', { name: 'Record', exact: true }).click()
  await expect(page.getByRole('button', { name: 'Pause recording' })).toBeEnabled({ timeout: 15_000 })
  await seed(desk, ['address', 'top'])
  const front = (await desk.call('clip.list', {})).find(({ view }) => view === 'face-on')!
  await page.getByLabel('Clip in the right pane').selectOption(front.id)
  await expect.poll(() => page.evaluate(() => crossbearingTest.bench!.state.getState().pegs.length)).toBeGreaterThan(0)
  await expect(column).toBeHidden()
  await press(page, 'v')
  await expect(column).toBeVisible()
})

test('the evidence, the table and the chart stand up to axe-core; a table sorts, narrows and says what is missing', async ({ page, desk }) => {
  await openPair(page, desk)
  await seed(desk, ['address', 'takeaway', 'top', 'impact'])
  await openAgain(page)
  await expect(rowOf(page, 'tempo-ratio', 'swing')).toBeVisible()
  const column = page.getByRole('complementary', { name: 'Evidence' })
  await press(page, 'k', '1', 'a')
  await expect(column.locator('.placing-steps')).toBeVisible()
  await column.getByText('Scale, level, time').click()
  await column.getByText('Marks that measure').click()
  expect(await seriousFindings(page)).toEqual([])
  await press(page, 'Escape')

  await column.getByRole('button', { name: 'Results' }).click()
  await page.getByRole('menuitem', { name: 'Table of all measures' }).click()
  const dialog = page.getByRole('dialog', { name: 'Measures' })
  const all = await dialog.locator('tbody tr').count()
  expect(all).toBeGreaterThan(100)
  await dialog.getByLabel('Which').selectOption('missing')
  const missing = await dialog.locator('tbody tr').count()
  expect(missing).toBeGreaterThan(0)
  for (const why of await dialog.locator('tbody td.basis').allInnerTexts()) expect(why.length).toBeGreaterThan(8)
  await dialog.getByLabel('Which').selectOption('found')
  expect(await dialog.locator('tbody tr').count()).toBe(all - missing)
  await dialog.getByLabel('View').selectOption('face-on')
  await dialog.getByLabel('Find a measure').fill('lead arm')
  await dialog.getByRole('button', { name: 'Value' }).click()
  const values = (await dialog.locator('tbody tr td:nth-child(4)').allInnerTexts()).map((text) => Number.parseFloat(text.replace('\u2212', '-')))
  expect(values.length).toBeGreaterThan(2)
  expect(values).toEqual(values.toSorted((a, b) => a - b))
  expect(await seriousFindings(page)).toEqual([])
  await dialog.getByRole('button', { name: 'Over time' }).click()
  await expect(dialog.locator('.u-over')).toBeVisible()
  await dialog.getByLabel('What to follow').selectOption('point:head:v')
  await expect(dialog.getByText('10 frames')).toBeVisible()
  expect(await seriousFindings(page)).toEqual([])
})
