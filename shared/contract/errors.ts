import { z } from 'zod'

export const errorKinds = [
  'bad-input', 'not-found', 'bad-media', 'no-consent', 'may-not-be-sent', 'library-in-use', 'library-newer', 'library-damaged',
  'disk-full', 'not-allowed', 'cancelled', 'not-here-yet', 'internal',
] as const
export type ErrorKind = (typeof errorKinds)[number]

/** What crosses the contract when something cannot be done. */
export const faultSchema = z.object({
  kind: z.enum(errorKinds),
  /** One clear sentence: what happened. */
  message: z.string(),
  /** Which file or field, where there is one. */
  where: z.string().nullable(),
  /** One sentence: what to do. */
  remedy: z.string().nullable(),
})
export type Fault = z.infer<typeof faultSchema>

/** A fault as it is thrown on either side of the contract. */
export class DeskError extends Error {
  readonly fault: Fault
  constructor(kind: ErrorKind, message: string, more: { where?: string | null; remedy?: string | null; cause?: unknown } = {}) {
    super(message, { cause: more.cause })
    this.name = 'DeskError'
    this.fault = { kind, message, where: more.where ?? null, remedy: more.remedy ?? null }
  }
  static from(fault: Fault): DeskError {
    return new DeskError(fault.kind, fault.message, fault)
  }
}
