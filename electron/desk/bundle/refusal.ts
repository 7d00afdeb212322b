import { DeskError } from '../../../shared/contract/errors.ts'

/** One sentence for a bundle that is not brought in. */
export const refusal = (name: string, why: string, remedy: string | null = 'Ask for it to be sent again.', cause?: unknown): DeskError =>
  new DeskError('bad-input', `${name} ${why}.`, { where: name, remedy, cause })
