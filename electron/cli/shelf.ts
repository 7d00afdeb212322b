import { resolve } from 'node:path'
import { bundleEnding } from '../../shared/contract/bundle.ts'
import { codeOf, waitForJobs } from './jobs.ts'
import { UsageError } from './terminal.ts'
import { mustExist, type Verb } from './verbs.ts'

const most = 200

/** A line a swing: its key, whom it shows, the club, the day. */
export const shelf: Verb = async ({ words, terminal, folder, desk }) => {
  mustExist(folder)
  const { total, items, corrected } = await desk().call('shelf.search', { text: words.join(' '), order: 'newest', offset: 0, limit: most })
  for (const { from, to } of corrected) terminal.say(`Nothing holds "${from}"; looked for "${to}".`)
  for (const item of items)
    terminal.out([item.key, item.student || '-', item.club || '-', new Date(item.date).toLocaleDateString('sv-SE'), item.clips.map(({ view }) => view).join(' + '), item.permission].join('\t'))
  if (total > items.length) terminal.say(`${items.length} of ${total}: say more to find fewer.`)
  return 0
}

export const bundle: Verb = async ({ words, options, terminal, folder, desk }) => {
  const [key, ...more] = words
  if (!key || more.length > 0) throw new UsageError(`Say which swing: crossbearing bundle KEY [--out FILE${bundleEnding}] [--unnamed]; crossbearing shelf WORDS lists keys.`)
  mustExist(folder)
  const open = desk()
  const job = await open.call('shelf.bundle', { key, to: resolve(options.out ?? `Swing ${key.slice(0, 8)}${bundleEnding}`), withName: options.unnamed !== true })
  const ended = await waitForJobs(open, [job.id], terminal)
  for (const { state, result } of ended) if (state === 'done') terminal.out(result!)
  return codeOf(ended)
}

export const unbundle: Verb = async ({ words, terminal, desk }) => {
  if (words.length === 0) throw new UsageError('Say which files: crossbearing unbundle FILE...')
  const open = desk()
  const ids: string[] = []
  for (const word of words) ids.push((await open.call('shelf.unbundle', { source: { path: resolve(word) } })).id)
  const ended = await waitForJobs(open, ids, terminal)
  for (const { state, result, title } of ended) if (state === 'done') terminal.out(`${result}\t${title}`)
  return codeOf(ended)
}
