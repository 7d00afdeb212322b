import { randomUUID } from 'node:crypto'
import { existsSync, rmSync } from 'node:fs'
import { open } from 'node:fs/promises'
import { join } from 'node:path'
import { DeskError } from '../../shared/contract/errors.ts'
import { knownFault } from '../library/faults.ts'

const stagedPattern = /^stage-[0-9a-f-]{36}$/

/** Bytes of a file that a browser window hands over; the largest that is accepted unless told otherwise. */
export const maxStagedBytes = 8 * 2 ** 30

export interface StageOptions {
  /** Size if the sender says it. */
  readonly bytes?: number | null
  readonly limit?: number
}

/** Files handed over through a host, in the incoming folder until they are taken in. */
export class Staging {
  readonly #folder: string

  constructor(folder: string) {
    this.#folder = folder
  }

  /** Writes what comes to a file and answers with its name. Nothing is left where the sender breaks off or sends too much. */
  async receive(pieces: AsyncIterable<Uint8Array>, { bytes = null, limit = maxStagedBytes }: StageOptions = {}): Promise<string> {
    const tooLarge = () =>
      new DeskError(
        'bad-input',
        `This file is larger than ${Math.round(limit / 2 ** 20)} MB, the most that can be sent through a browser window.`,
        { remedy: 'Take it in from the command line: crossbearing take-in FILE.' },
      )
    if (bytes !== null && bytes > limit) throw tooLarge()
    const name = `stage-${randomUUID()}`
    const path = join(this.#folder, name)
    const file = await open(path, 'wx', 0o600)
    try {
      let written = 0
      for await (const piece of pieces) {
        if ((written += piece.length) > limit) throw tooLarge()
        for (let at = 0; at < piece.length;) at += (await file.write(piece, at, piece.length - at)).bytesWritten
      }
      if (bytes !== null && written !== bytes)
        throw new DeskError('bad-input', `The file broke off after ${written} of ${bytes} bytes.`, { remedy: 'Choose it again.' })
      await file.sync()
    } catch (error) {
      await file.close()
      rmSync(path, { force: true })
      throw knownFault(error) ?? error
    }
    await file.close()
    return name
  }

  /** Full path of a staged file; throws where there is none of that name. */
  path(staged: string): string {
    const path = stagedPattern.test(staged) ? join(this.#folder, staged) : null
    if (path === null || !existsSync(path))
      throw new DeskError('not-found', 'What was handed over is not there any more.', { where: staged, remedy: 'Choose the file again.' })
    return path
  }

  drop(staged: string): void {
    if (stagedPattern.test(staged)) rmSync(join(this.#folder, staged), { force: true })
  }
}
