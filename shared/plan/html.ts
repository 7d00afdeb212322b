import type { PlanDrill, PlanLine, PlanPage, PlanPicture } from './page.ts'
import { planStyle } from './planStyle.ts'
import { drillGapEms, pictureEms, printSize } from './printSize.ts'
import { listWords } from './safety.ts'
import { longDay } from './words.ts'

const signs: Readonly<Record<string, string>> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;', "'": '&#39;' }
export const escaped = (text: string): string => text.replaceAll(/[&<>"']/g, (sign) => signs[sign]!)

export interface HtmlParts {
  readonly page: PlanPage
  /** A JPEG as a data URL, by the finding it shows; a picture that could not be made is left out. */
  readonly pictures: Readonly<Record<string, string>>
  /** `@font-face` rules with the files in them; empty for the device's own type. */
  readonly fontFaces: string
}

/** Nothing is fetched and nothing runs: only what is in the page itself may be shown. */
export const pagePolicy = `default-src 'none'; img-src data:; style-src 'unsafe-inline'; font-src data:; base-uri 'none'; form-action 'none'`

export const errorNote = '\u00b1 says how far a number can be trusted: in about two cases of three the truth lies within it.'

/** The plan as one page that needs nothing else: no script, no address, pictures and type inside. */
export function planHtml({ page, pictures, fontFaces }: HtmlParts): string {
  const title = page.student === null ? page.title : `${page.title} for ${page.student}`
  const shown = page.pictures.filter(({ findingId }) => pictures[findingId] !== undefined)
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${pagePolicy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<meta name="robots" content="noindex">
<meta name="color-scheme" content="light dark">
<title>${escaped(title)}</title>
<style>${fontFaces}${planStyle(page.paper, { textPt: printSize(page), pictureEms, drillGapEms, abreast: Math.max(1, page.drills.length) })}</style>
</head>
<body>
<main>
${headingOf(page)}
<div class="title"><h1>${escaped(title)}</h1><p>${longDay(page.made)}</p></div>
${causeOf(page)}
${shown.length === 0 ? '' : `<section aria-label="Pictures"><div class="pictures">${shown.map((picture) => figureOf(picture, pictures[picture.findingId]!)).join('')}</div></section>`}
${page.drills.length === 0 ? '' : `<section><h2>${page.drills.length === 1 ? 'Your drill' : 'Your drills'}</h2><div class="drills">${page.drills.map(drillOf).join('')}</div></section>`}
${filmOf(page)}
${mindOf(page)}
</main>
</body>
</html>
`
}

function headingOf({ heading: { name, lines } }: PlanPage): string {
  if (name === '' && lines.length === 0) return ''
  return `<header><p class="coach">${escaped(name)}</p>${lines.length === 0 ? '' : `<address>${lines.map(escaped).join('<br>')}</address>`}</header>`
}

function causeOf({ cause, because, follows }: PlanPage): string {
  if (cause === null && because === '' && follows.length === 0) return ''
  const list = follows.length === 0 ? '' : `<ul class="follows">${follows.map((line) => `<li>${escaped(line.saw)}${numberOf(line)}</li>`).join('')}</ul>`
  return `<section class="cause">${cause === null ? '' : `<h2>The one thing to change</h2><p class="one">${escaped(cause)}</p>`}${because === '' ? '' : `<p class="because">${escaped(because)}</p>`}${list === '' ? '' : `<h2 class="then">What follows from it</h2>${list}`}</section>`
}

const numberOf = ({ number, where }: PlanLine): string =>
  number ? ` <span class="number">(${escaped([number.title.toLowerCase(), where].filter(Boolean).join(' '))}: ${escaped(number.words)})</span>` : ''

const figureOf = ({ saw, number, where, isCause, alt, size }: PlanPicture, url: string): string =>
  `<figure><img src="${url}" alt="${escaped(alt)}" width="${size.width}" height="${size.height}"><figcaption>${isCause ? '<span class="tag">The cause.</span> ' : ''}${escaped(saw)}${number ? `<span class="value">${escaped(number.words)}</span><span class="basis">${escaped([number.title, where].filter(Boolean).join(', '))}</span>` : where ? `<span class="basis">${escaped(where)}</span>` : ''}</figcaption></figure>`

const drillOf = ({ title, dose, changes, needs, how, feel, film, mistake, note }: PlanDrill): string =>
  `<article><h3>${escaped(title)}</h3><p class="dose">${escaped(dose)}</p><p>${escaped(changes)}</p>${note === '' ? '' : `<p><strong>${escaped(note)}</strong></p>`}<ol>${how.map((step) => `<li>${escaped(step)}</li>`).join('')}</ol><dl>${pair('Feel', feel)}${needs.length === 0 ? '' : pair('Needs', listWords(needs))}${pair('Film it', film)}${pair('Mind', mistake)}</dl></article>`

const pair = (name: string, text: string): string => `<dt>${name}</dt><dd>${escaped(text)}</dd>`

function filmOf({ film: { sentences, by } }: PlanPage): string {
  if (sentences.length === 0 && by === null) return ''
  return `<section class="film"><h2>What to film next${by === null ? '' : `, by ${by}`}</h2>${sentences.map((words) => `<p>${escaped(words)}</p>`).join('')}</section>`
}

function mindOf({ safety, hasNumbers }: PlanPage): string {
  const lines = [...safety, ...(hasNumbers ? [errorNote] : [])]
  return lines.length === 0 ? '' : `<section class="mind">${lines.map((line) => `<p>${escaped(line)}</p>`).join('')}</section>`
}
