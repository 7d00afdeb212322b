import type { Sqlite } from '../database.ts'
import { studentsAndClips } from './0001-students-and-clips.ts'
import { walkthroughs } from './0002-walkthroughs.ts'
import { jobsAndSettings } from './0003-jobs-and-settings.ts'
import { digitising } from './0004-digitising.ts'
import { shelf } from './0005-shelf.ts'
import { lessons } from './0006-lessons.ts'
import { findingsAndPlans } from './0007-findings-and-plans.ts'
import { renderQueue } from './0008-render-queue.ts'
import { newestFirst } from './0009-newest-first.ts'
import { comparisons } from './0010-comparisons.ts'
import { faceInputs } from './0011-face-inputs.ts'
import { videosOffTheList } from './0012-videos-off-the-list.ts'
import { repeatability } from './0013-repeatability.ts'
import { mirroredClips } from './0014-mirrored-clips.ts'

/**
 * Brings the schema one number up, inside a transaction with foreign keys off. One that has shipped is never changed:
 * whatever comes later is a new one at the end.
 */
export type Migration = (db: Sqlite) => void

/** The migration at index n leads from schema n to n + 1. */
export const migrations: readonly Migration[] = [studentsAndClips, walkthroughs, jobsAndSettings, digitising, shelf, lessons, findingsAndPlans, renderQueue, newestFirst, comparisons, faceInputs, videosOffTheList, repeatability, mirroredClips]
