import type { FigureView } from './figure/figureView.ts'

/** The figure while it is on the page: a plate in a corner of the picture shows it as it is looked at then. */
export const figureHolder: { view: FigureView | null } = { view: null }
