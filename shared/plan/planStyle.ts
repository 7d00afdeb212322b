import type { PlanSettings } from '../contract/plan.ts'

/** Sheets of paper in points, and the margin all round. */
export const papers: Readonly<Record<PlanSettings['paper'], { readonly width: number; readonly height: number; readonly css: string }>> = {
  a4: { width: 595.28, height: 841.89, css: 'A4' },
  letter: { width: 612, height: 792, css: 'letter' },
}
export const marginPt = 36

/** The page's colours on white paper, and the two that mark cause and course: contrast at least 4.5 to 1 on their grounds. */
export const paperColours = { ink: '#1c1d1f', quiet: '#55565a', line: '#c9c6bd', accent: '#5c4b00', ground: '#f4f1e6' } as const

export interface PrintSizes {
  /** The running text on paper, points. */
  readonly textPt: number
  readonly pictureEms: number
  readonly drillGapEms: number
  /** How many drills stand side by side. */
  readonly abreast: number
}

/**
 * The style sheet of the page for a screen: one column on a phone, two and three where there is room, dark where the
 * reader's device is; on paper one sheet.
 */
export const planStyle = (paper: PlanSettings['paper'], { textPt, pictureEms, drillGapEms, abreast }: PrintSizes): string => `
:root{color-scheme:light dark;--ink:${paperColours.ink};--quiet:${paperColours.quiet};--line:${paperColours.line};--accent:${paperColours.accent};--ground:#fff;--soft:${paperColours.ground}}
@media (prefers-color-scheme:dark){:root{--ink:#e8e6e1;--quiet:#a9aaa6;--line:#3d4148;--accent:#e3d08a;--ground:#17191c;--soft:#24262b}}
*{box-sizing:border-box;margin:0;padding:0}
body{background:var(--ground);color:var(--ink);font:400 16px/1.5 'Plan Inter',system-ui,-apple-system,'Segoe UI',sans-serif;font-variant-numeric:tabular-nums;-webkit-text-size-adjust:100%}
main{max-width:60rem;margin:0 auto;padding:1.5rem 1.1rem 2.5rem}
h1,h2,h3,strong{font-weight:600}
header{display:flex;flex-wrap:wrap;justify-content:space-between;gap:.2rem 2rem;padding-bottom:.6rem;border-bottom:2px solid var(--ink)}
header address{font-style:normal;color:var(--quiet);font-size:.85em;text-align:right}
header .coach{font-size:1.1em;font-weight:600}
.title{display:flex;flex-wrap:wrap;justify-content:space-between;gap:.2rem 1rem;margin:.7rem 0 1rem;color:var(--quiet)}
.title h1{font-size:1em;color:var(--ink)}
h2{font-size:.85em;color:var(--accent);margin-bottom:.35rem}
section{margin-top:1.4rem}
.cause{background:var(--soft);border-left:4px solid var(--accent);padding:.9rem 1.1rem;margin-top:0}
.cause p.one{font-size:1.4em;line-height:1.3;font-weight:600;text-wrap:balance}
.cause p.because{margin-top:.5rem}
.cause .then{margin:.7rem 0 .2rem}
.follows{margin:0;list-style:none}
.follows li{padding-left:1.1em;position:relative}
.follows li::before{content:'';position:absolute;left:.15em;top:.25em;width:.5em;height:.5em;border-left:1.5px solid var(--quiet);border-bottom:1.5px solid var(--quiet)}
.number{color:var(--quiet)}
.pictures{display:grid;gap:1rem;grid-template-columns:repeat(auto-fit,minmax(min(14rem,100%),1fr))}
figure{display:flex;flex-direction:column;gap:.4rem;max-width:26rem}
figure img{display:block;width:100%;height:auto;object-fit:contain;background:#0b0d0f;border-radius:4px}
figcaption{font-size:.9em;line-height:1.4}
figcaption .tag{color:var(--accent);font-weight:600}
figcaption .value{display:block;font-weight:600}
figcaption .basis{display:block;color:var(--quiet)}
.drills{display:grid;gap:1.4rem 2rem;grid-template-columns:repeat(auto-fit,minmax(min(21rem,100%),1fr))}
article h3{font-size:1.1em}
article .dose{font-weight:600;color:var(--accent);margin-bottom:.3rem}
article ol{margin:.4rem 0;padding-left:1.4em}
article li{margin:.15rem 0}
article dl{display:grid;grid-template-columns:max-content 1fr;gap:.15rem .7rem;margin-top:.3rem}
article dt{color:var(--quiet)}
.film p+p{margin-top:.4rem}
.mind{color:var(--quiet);font-size:.85em;border-top:1px solid var(--line);padding-top:.6rem}
@page{size:${papers[paper].css};margin:${marginPt}pt}
@media print{
:root{color-scheme:light;--ink:${paperColours.ink};--quiet:${paperColours.quiet};--line:${paperColours.line};--accent:${paperColours.accent};--ground:#fff;--soft:${paperColours.ground}}
body{font-size:${textPt}pt;line-height:1.34;print-color-adjust:exact;-webkit-print-color-adjust:exact}
main{max-width:none;padding:0}
section{margin-top:.8em}
header{padding-bottom:.35em}
.title{margin:.35em 0 .6em}
.cause{padding:.6em .9em}
.cause p.because{margin-top:.3em}
.cause .then{margin:.45em 0 .1em}
.pictures{grid-template-columns:repeat(3,1fr);gap:1em}
figure{gap:.25em;break-inside:avoid}
figure img{width:auto;max-width:100%;height:auto;max-height:${textPt * pictureEms}pt;align-self:flex-start}
.drills{grid-template-columns:repeat(${abreast},1fr);gap:.8em ${drillGapEms}em}
article{break-inside:avoid}
article ol,article dl{margin:.2em 0}
article li{margin:0}
.mind{padding-top:.35em}
}
`
