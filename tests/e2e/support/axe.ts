import { readFile } from 'node:fs/promises'
import { createRequire } from 'node:module'
import type { Page } from '@playwright/test'
import type { AxeResults } from 'axe-core'

const source = await readFile(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8')
const everyRule = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']

/** What axe finds that is serious or critical in the page as it stands, one line each. */
export async function seriousFindings(page: Page): Promise<string[]> {
  await page.evaluate(source)
  const { violations } = await page.evaluate(async (only): Promise<Pick<AxeResults, 'violations'>> => {
    const { axe } = globalThis as unknown as { axe: { run(context: Document, options: object): Promise<AxeResults> } }
    return axe.run(document, { runOnly: only, resultTypes: ['violations'] })
  }, everyRule)
  return violations
    .filter(({ impact }) => impact === 'serious' || impact === 'critical')
    .flatMap(({ id, nodes }) => nodes.map((node) => `${id}: ${node.target.join(' ')}: ${node.failureSummary ?? ''}`))
}
