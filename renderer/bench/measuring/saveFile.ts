import { turnedBack } from '../../../shared/contract/pointsFile.ts'
import { measuresCsv } from '../../../shared/swing/exportMeasures.ts'
import { tellDone } from '../../ui/notices.ts'
import type { Outcome } from './measuringState.ts'

const kinds = {
  csv: { name: 'measures.csv', type: 'text/csv' },
  json: { name: 'measures.json', type: 'application/json' },
  points: { name: 'points.json', type: 'application/json' },
} as const

/** Hands a result to the coach as a file in the downloads. No name of a student or a clip goes with it. */
export function saveFile(outcome: Outcome, kind: keyof typeof kinds): void {
  if (outcome.kind !== 'measured') return
  const text = kind === 'csv' ? measuresCsv(outcome.result) : JSON.stringify(kind === 'json' ? outcome.result : turnedBack(outcome.file), null, 2)
  const { name, type } = kinds[kind]
  const url = URL.createObjectURL(new Blob([text], { type }))
  const link = Object.assign(document.createElement('a'), { href: url, download: name })
  link.click()
  setTimeout(() => URL.revokeObjectURL(url), 10_000)
  tellDone(`${name} is among your downloads.`)
}
