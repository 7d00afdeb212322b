import type { Fault } from '../../shared/contract/errors.ts'
import type { OpenDesk } from './createDesk.ts'
import { faultOf } from './faultOf.ts'
import { mayCall, type Sender } from './gate.ts'

/** An answer or a fault as plain data: an error's class and fields do not survive the way between processes. */
export type WireAnswer = { readonly value: unknown } | { readonly fault: Fault }

/** One call from a window, through the gate. Never rejects. */
export async function wireCall(
  desk: Pick<OpenDesk, 'callByName'>,
  sender: Sender,
  name: unknown,
  input: unknown,
  log: (line: string) => void,
): Promise<WireAnswer> {
  if (!mayCall(sender) || typeof name !== 'string') {
    log(`refused a message from ${sender.url ?? 'a frame that is gone'}`)
    return { fault: { kind: 'not-allowed', message: "Only Crossbearing's own window may ask this.", where: null, remedy: null } }
  }
  try {
    return { value: await desk.callByName(name, input) }
  } catch (error) {
    return { fault: faultOf(error, log).fault }
  }
}
