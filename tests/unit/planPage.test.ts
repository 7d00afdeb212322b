import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { newPlan } from '../../shared/contract/plan.ts'
import { imagePoint } from '../../shared/geometry/vec.ts'
import { apply } from '../../shared/geometry/affine.ts'
import type { Mark } from '../../shared/markup/mark.ts'
import { paneViews } from '../../shared/picture/drawInstant.ts'
import { framingOf, pairSize, pictureSize, stageOf } from '../../shared/plan/framing.ts'
import { escaped, planHtml } from '../../shared/plan/html.ts'
import { listOf, moved, orderOf, stepped } from '../../shared/plan/order.ts'
import { mostDrills, mostPictures, planGaps, planPage } from '../../shared/plan/page.ts'
import { printSize } from '../../shared/plan/printSize.ts'
import { fitness, found } from '../../shared/plan/search.ts'
import { dayAfter, firstName, longDay, placeWords } from '../../shared/plan/words.ts'
import { planFontFaces } from '../../electron/handoff/plan/fontFiles.ts'
import { starterCards } from '../../electron/library/starterCards.ts'
import { findingWith, planParts, prescriptionOf } from '../fixtures/planParts.ts'

describe('the order of findings', () => {
  const orders = fc.uniqueArray(fc.constantFrom('a', 'b', 'c', 'd', 'e', 'f'), { minLength: 1, maxLength: 6 }).chain((ids) =>
    fc.tuple(fc.nat(ids.length), fc.boolean()).map(([cut, hasCause]) => ({ cause: hasCause ? ids[0]! : null, follows: ids.slice(hasCause ? 1 : 0, Math.max(hasCause ? 1 : 0, cut)), aside: ids.slice(Math.max(hasCause ? 1 : 0, cut)) })))

  test('no move loses or doubles one, and there is never more than one cause', () => {
    fc.assert(fc.property(orders, fc.nat(), fc.constantFrom('cause' as const, 'follows' as const, 'aside' as const), fc.option(fc.nat(), { nil: null }), fc.boolean(), (order, pick, role, before, up) => {
      const ids = listOf(order)
      const id = ids[pick % ids.length]!
      for (const next of [moved(order, id, role, before === null ? null : ids[before % ids.length]!), stepped(order, id, up ? -1 : 1)]) expect(listOf(next).toSorted()).toEqual(ids.toSorted())
    }))
  })

  test('what was the cause becomes the first thing that follows', () => {
    const order = { cause: 'a', follows: ['b', 'c'], aside: ['d'] }
    expect(moved(order, 'c', 'cause')).toEqual({ cause: 'c', follows: ['a', 'b'], aside: ['d'] })
    expect(moved(order, 'd', 'follows', 'c')).toEqual({ cause: 'a', follows: ['b', 'd', 'c'], aside: [] })
    expect(moved(order, 'a', 'aside')).toEqual({ cause: null, follows: ['b', 'c'], aside: ['d', 'a'] })
  })

  test('steps of one place go from the last kept aside up to the cause, and down again', () => {
    let order: ReturnType<typeof orderOf> = { cause: 'a', follows: ['b', 'c'], aside: ['d', 'e'] }
    const places: string[] = []
    for (let i = 0; i < 5; i++) {
      order = stepped(order, 'e', -1)
      places.push(JSON.stringify([order.cause, order.follows, order.aside]))
    }
    expect(places).toEqual(['["a",["b","c"],["e","d"]]', '["a",["b","c","e"],["d"]]', '["a",["b","e","c"],["d"]]', '["a",["e","b","c"],["d"]]', '["e",["a","b","c"],["d"]]'])
    expect(stepped(order, 'e', 1)).toEqual({ cause: 'a', follows: ['e', 'b', 'c'], aside: ['d'] })
    expect(stepped({ cause: 'a', follows: [], aside: [] }, 'a', 1)).toEqual({ cause: null, follows: ['a'], aside: [] })
  })
})

describe('the plan as data', () => {
  test('says cause, what follows, pictures with numbers and errors, drills with doses, what to film', () => {
    const page = planPage(planParts())
    expect(page).toMatchObject({ student: 'Ines', cause: 'The trail elbow points behind you', made: '2026-05-14', hasNumbers: true })
    expect(page.follows.map(({ saw, number }) => `${saw}: ${number?.words}`)).toEqual(['The shaft goes across the line: 131.2 \u00b1 1.3\u00b0', 'The head leaves its box: 48.0 +8.0 \u22125.0 mm'])
    expect(page.pictures.map(({ isCause, where }) => [isCause, where])).toEqual([[true, 'at the top'], [false, 'at the top'], [false, 'at lead arm level, down']])
    expect(page.pictures[0]!.alt).toBe('The swing at the top: The trail elbow points behind you, Shaft azimuth 14.2 \u00b1 2.4\u00b0')
    expect(page.drills.map(({ title, dose, note }) => [title, dose, note])).toEqual([['Elbow under the tray', '3 sets of 6, 5 days a week', 'In front of the mirror.'], ['Let them fall', '3 sets of 5, 5 days a week', ''], ['Three to one', '2 sets of 10, 4 days a week', '']])
    // The first day that any drill asks for.
    expect(page.film).toMatchObject({ by: '28 May 2026', sentences: ['Face-on: Put the phone straight out from the middle of your stance.', 'Down the line: Move the phone about 35 cm toward your heels. Lay a stick along your target line.'] })
    expect(page.safety).toHaveLength(3)
    expect(planGaps(page)).toEqual([])
    expect(JSON.stringify(page)).not.toContain('Between ourselves')
    expect(JSON.stringify(page)).not.toContain('Falk')
  })

  test('the coach’s own words go before what follows from the rest', () => {
    const page = planPage(planParts({ plan: { ...newPlan('w'), cause: ' Elbow   first. ', filmWords: 'Ten swings from behind.', filmViews: [], filmBy: '2026-06-30', named: 'full-name' } }))
    expect(page).toMatchObject({ cause: 'Elbow first.', student: 'Ines Falk', film: { sentences: ['Ten swings from behind.'], by: '30 June 2026' } })
    expect(planPage(planParts({ plan: { ...newPlan('w'), named: 'none' } })).student).toBeNull()
  })

  test('bare, it is empty and says what it lacks', () => {
    const page = planPage(planParts({ plan: { ...newPlan('w'), filmViews: [] }, settings: { name: '', lines: [], paper: 'a4' }, student: null, findings: [], prescriptions: [], advice: [] }))
    expect(page).toMatchObject({ cause: null, student: null, follows: [], pictures: [], drills: [], safety: [], hasNumbers: false, film: { sentences: [], by: null } })
    expect(planGaps(page)).toHaveLength(5)
    expect(planGaps(planPage(planParts({ findings: [findingWith('x', { saw: '  ' })] })))).toEqual(['No cause is named yet: put a finding at the top, or write the sentence here.', 'A finding has no words yet: write what is seen, under Findings.'])
  })

  test('never holds more than the page has room for', () => {
    const page = planPage(planParts({ findings: Array.from({ length: 6 }, (_, i) => findingWith(`f${i}`, { order: i })), prescriptions: starterCards().slice(0, 6).map(({ id }, i) => prescriptionOf(id, { order: i })) }))
    expect([page.pictures.length, page.drills.length, page.follows.length]).toEqual([mostPictures, mostDrills, 6])
    expect(planPage(planParts({ findings: [findingWith('a', { shown: false }), findingWith('b', { order: 1 })] })).pictures.map(({ findingId }) => findingId)).toEqual(['b'])
  })
})

describe('the page for a screen', () => {
  const page = planPage(planParts())
  const pictures = { one: 'data:image/jpeg;base64,AAAA', two: 'data:image/jpeg;base64,BBBB' }
  const html = planHtml({ page, pictures, fontFaces: planFontFaces() })

  test('needs nothing else and runs nothing', () => {
    expect(html).not.toMatch(/<script|javascript:|\son\w+=/i)
    // Every address in it is data; fonts and pictures lie inside.
    for (const [, address] of html.matchAll(/(?:src|href|url)\s*[=(]\s*["']?([^"')\s>]+)/gi)) expect(address!.slice(0, 5)).toBe('data:')
    expect(html).not.toMatch(/https?:\/\//i)
    expect(html).not.toMatch(/@import|<link|<iframe|<object|<form/i)
    expect(html).toContain(`content="default-src 'none'; img-src data:; style-src 'unsafe-inline'; font-src data:; base-uri 'none'; form-action 'none'"`)
    expect(html.match(/<img /g)).toHaveLength(2)
    expect(html).toMatch(/prefers-color-scheme:dark/)
    expect(html).toContain('@page{size:A4;')
  })

  test('says what the plan says', () => {
    for (const words of ['The trail elbow points behind you', '14.2 \u00b1 2.4\u00b0', 'Elbow under the tray', '3 sets of 6, 5 days a week', 'What to film next, by 28 May 2026', 'not medical advice', 'Mara Łukasz, golf coach', '14 May 2026', 'lang="en"'])
      expect(html).toContain(escaped(words).replaceAll('&quot;', '"'))
  })

  test('what a coach writes stays text, whatever it is', () => {
    fc.assert(fc.property(fc.string({ unit: 'binary', maxLength: 60 }), (words) => {
      const nasty = `<b onclick="x">'&${words}</script><img src=http://x>`
      const made = planHtml({ page: planPage(planParts({ plan: { ...newPlan('w'), cause: nasty, because: nasty }, settings: { name: nasty, lines: [nasty], paper: 'letter' }, findings: [findingWith('one', { role: 'cause', saw: nasty })] })), pictures, fontFaces: '' })
      expect(made).not.toMatch(/<b |<\/script|<img src=http/)
    }), { numRuns: 25 })
  })

  test('is printed smaller the more it says, and never too small to read', () => {
    const long = planPage(planParts({ prescriptions: ['between-two-tees', 'keep-the-tip', 'lead-pocket-back'].map((id, i) => prescriptionOf(id, { order: i })) }))
    const short = planPage(planParts({ prescriptions: [] }))
    expect(printSize(short)).toBeGreaterThan(printSize(page))
    expect(printSize(long)).toBeGreaterThanOrEqual(6.5)
    expect(printSize(long)).toBeLessThanOrEqual(10.5)
  })
})

describe('a finding’s picture', () => {
  const clip = (width: number, height: number) => ({ id: 'c', view: 'face-on' as const, handedness: 'right' as const, width, height, frames: { timescale: 90_000, ticks: [0, 1500], endTick: 3000 }, captureRate: 60, playRate: 60 })
  const markAt = (points: readonly (readonly [number, number])[]): Mark => ({ id: 'm', clipId: 'c', shape: points.length === 2 ? 'segment' : 'polyline', meaning: null, points: points.map(([x, y]) => imagePoint(x, y)), text: '', span: null, ink: 'plain', weight: 4, dashed: false, hidden: false, order: 1 })

  test('fills its frame, and cuts no mark off that lies in the clip', () => {
    const sizes = fc.constantFrom([1080, 1920], [1920, 1080], [720, 720], [540, 960])
    fc.assert(fc.property(sizes, fc.array(fc.tuple(fc.double({ min: 0, max: 1, noNaN: true }), fc.double({ min: 0, max: 1, noNaN: true })), { minLength: 2, maxLength: 6 }), fc.boolean(), ([width, height], shares, mirror) => {
      const own = clip(width!, height!)
      const points = shares.map(([x, y]) => [x * width!, y * height!] as const)
      const stage = stageOf({ tick: 0, zoom: 1, centre: null, mirror, marks: [markAt(points)] }, own)
      const [view] = paneViews({ size: pictureSize, stage, clips: { c: own } })
      for (const [x, y] of points) {
        const [px, py] = apply(view!.place.transform, imagePoint(x, y))
        expect(px).toBeGreaterThanOrEqual(-0.5)
        expect(px).toBeLessThanOrEqual(pictureSize.width + 0.5)
        expect(py).toBeGreaterThanOrEqual(-0.5)
        expect(py).toBeLessThanOrEqual(pictureSize.height + 0.5)
      }
    }))
  })

  test('of two views shows each at its side, cuts no mark off, and keeps most of the width of both', () => {
    const sizes = fc.constantFrom([1080, 1920], [1920, 1080], [720, 720])
    const share = fc.double({ min: 0, max: 1, noNaN: true })
    const marked = fc.array(fc.tuple(share, share), { maxLength: 4 })
    fc.assert(fc.property(sizes, sizes, marked, marked, fc.boolean(), fc.constantFrom(0 as const, 1 as const), ([w0, h0], [w1, h1], one, two, mirror, pane) => {
      const [own, other] = [clip(w0!, h0!), { ...clip(w1!, h1!), id: 'd' }]
      const part = (of: typeof own, shares: typeof one) => ({ tick: 0, zoom: 1, centre: null, mirror, marks: shares.length < 2 ? [] : [{ ...markAt(shares.map(([x, y]) => [x * of.width, y * of.height])), id: of.id, clipId: of.id }] })
      const stage = stageOf({ ...part(own, one), beside: { ...part(other, two), clipId: 'd', pane, shown: true } }, own, pairSize, other)
      const views = paneViews({ size: pairSize, stage, clips: { c: own, d: other } })
      expect(views.map(({ clipId }) => clipId)).toEqual(pane === 1 ? ['c', 'd'] : ['d', 'c'])
      for (const { clipId, rect, place: { transform } } of views) {
        const of = clipId === 'c' ? own : other
        expect(rect.width / Math.abs(transform.a)).toBeGreaterThan(0.849 * of.width)
        for (const [x, y] of stage.marks[clipId]?.points ?? []) {
          const [px, py] = apply(transform, imagePoint(x, y))
          expect(Math.min(px - rect.x, rect.x + rect.width - px)).toBeGreaterThan(-1)
          expect(Math.min(py - rect.y, rect.y + rect.height - py)).toBeGreaterThan(-1)
        }
      }
    }))
  })

  test('without marks it fills the frame; where the coach had gone closer it stays so', () => {
    // 900 x 1200 of 1080 x 1920: fitted by height it is 675 wide, so 4/3 fills.
    expect(framingOf({ tick: 0, zoom: 1, centre: null, mirror: false, marks: [] }, { width: 1080, height: 1920 }).zoom).toBeCloseTo(4 / 3, 10)
    expect(framingOf({ tick: 0, zoom: 3, centre: imagePoint(10, 20), mirror: false, marks: [markAt([[0, 0], [1080, 1920]])] }, { width: 1080, height: 1920 })).toEqual({ zoom: 3, centre: [10, 20] })
  })
})

test('search: every word begins some word, titles before texts, whole words before parts', () => {
  expect(fitness('elb tray', ['Elbow under the tray'])).toBeGreaterThan(0)
  expect(fitness('elb fly', ['Elbow under the tray'])).toBe(0)
  expect(fitness('ELBÖW', ['elbow'])).toBeGreaterThan(0)
  expect(fitness('', ['anything'])).toBe(1)
  const cards = [{ title: 'Wide', text: 'the tray' }, { title: 'Tray', text: 'x' }, { title: 'Trays', text: 'x' }]
  expect(found('tray', cards, ({ title, text }) => [title, text]).map(({ title }) => title)).toEqual(['Tray', 'Wide', 'Trays'])
})

test('days, names and places in words', () => {
  expect(longDay('2026-05-01')).toBe('1 May 2026')
  expect(dayAfter('2026-02-25', 7)).toBe('2026-03-04')
  expect(firstName('  Ines  Falk ')).toBe('Ines')
  expect([null, 'swing', 'top', 'shaft-level-back'].map((at) => placeWords(at as 'top'))).toEqual(['', 'over the whole swing', 'at the top', 'at shaft level, back'])
})
