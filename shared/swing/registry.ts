import type { Measure } from './definition.ts'
import { cameraMeasures } from './measures/camera.ts'
import { downTheLineMeasures } from './measures/downTheLine.ts'
import { excursionMeasures } from './measures/excursion.ts'
import { faceOnMeasures } from './measures/faceOn.ts'
import { planeOnBodyMeasures } from './measures/planeOnBody.ts'
import { spaceMeasures } from './measures/space.ts'
import { timeMeasures } from './measures/time.ts'
import { toeMeasures } from './measures/toes.ts'

/** Every measure there is, in the order in which results list them. */
export const measures: readonly Measure[] = [
  ...timeMeasures, ...faceOnMeasures, ...downTheLineMeasures, ...excursionMeasures, ...spaceMeasures, ...toeMeasures, ...planeOnBodyMeasures, ...cameraMeasures,
]

const viewWords = (m: Measure): string => (m.views === 'both' ? 'both together' : m.views === 'swing' ? 'either' : m.views.join(', '))

/** The table of all measures as Markdown. */
export function measuresTable(): string {
  const cell = (text: string) => text.replaceAll('|', '\\|')
  const rows = measures.map((m) => `| \`${m.id}\` | ${viewWords(m)} | ${m.at.join(', ')} | ${m.unit} | ${cell(m.plane)} | ${cell(m.sign)} | ${cell(m.definition)} | ${cell(m.formula)} |`)
  return ['| id | view | at | unit | plane | sign | definition | formula |', '| --- | --- | --- | --- | --- | --- | --- | --- |', ...rows].join('\n')
}
