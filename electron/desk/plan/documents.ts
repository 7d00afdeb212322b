import { planFontFaces } from '../../handoff/plan/fontFiles.ts'
import { planPdf } from '../../handoff/plan/pdf.ts'
import { planHtml } from '../../../shared/plan/html.ts'
import type { PlanPage } from '../../../shared/plan/page.ts'
import { getFinding } from '../../library/findings.ts'
import type { DeskContext } from '../context.ts'
import { buildPlan } from './buildPlan.ts'
import { findingPicture } from './findingPictures.ts'

export interface PlanPictures {
  readonly page: PlanPage
  /** JPEGs by the finding they show. */
  readonly pictures: Readonly<Record<string, Buffer>>
}

/** The plan with its pictures drawn. One that cannot be drawn (its clip broke) is left out and told to the log. */
export async function planWithPictures(context: DeskContext, walkthroughId: string): Promise<PlanPictures> {
  const page = buildPlan(context, walkthroughId)
  const pictures: Record<string, Buffer> = {}
  for (const { findingId } of page.pictures) {
    const finding = getFinding(context.library.db, findingId)
    if (!finding) continue
    try {
      pictures[findingId] = await findingPicture(context, finding)
    } catch (error) {
      context.log(`The picture of a finding could not be drawn: ${error instanceof Error ? error.message : String(error)}`)
    }
  }
  return { page, pictures }
}

export const htmlOf = ({ page, pictures }: PlanPictures): string =>
  planHtml({ page, fontFaces: planFontFaces(), pictures: Object.fromEntries(Object.entries(pictures).map(([id, jpeg]) => [id, `data:image/jpeg;base64,${jpeg.toString('base64')}`])) })

export const pdfOf = (parts: PlanPictures): Promise<Buffer> => planPdf(parts)
