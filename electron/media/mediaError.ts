import { basename } from 'node:path'

/** What can be wrong with a file, or with the work on it. Each kind has one sentence. */
export type MediaErrorKind =
  | 'absent' | 'permission' | 'not-a-file' | 'empty' | 'not-a-video' | 'truncated' | 'damaged-index' | 'damaged'
  | 'only-sound' | 'no-video' | 'no-frames' | 'unknown-codec' | 'no-sound' | 'disk-full' | 'cancelled' | 'superseded' | 'crashed' | 'failed'

const sentences: Record<MediaErrorKind, (name: string, detail: string) => string> = {
  'absent': (name) => `${name} is not there any more: it was moved, renamed or deleted.`,
  'permission': (name) => `${name} may not be read by this program: allow it, or copy the file to a folder of your own.`,
  'not-a-file': (name) => `${name} is a folder: choose the video files inside it.`,
  'empty': (name) => `${name} is empty (0 bytes): ask for it to be sent again.`,
  'not-a-video': (name) => `${name} is not a video${/\.(mp4|mov|m4v|webm|mkv|avi|3gp|mts|m2ts)$/i.test(name) ? ', whatever its name says' : ''}: ask for the clip itself.`,
  'truncated': (name) => `${name} is cut off before its end: the upload was not complete, so ask for it to be sent again.`,
  'damaged-index': (name) => `${name} is damaged: the table that says where its frames lie contradicts itself, so ask for it to be sent again.`,
  'damaged': (name, detail) => `${name} is damaged${detail ? ` ${detail}` : ''}: ask for it to be sent again.`,
  'only-sound': (name) => `${name} has sound but no picture: it is not a video.`,
  'no-video': (name) => `${name} has no video track: it cannot be reviewed.`,
  'no-frames': (name) => `${name} has a video track without a single frame to show: ask for it to be filmed or sent again.`,
  'unknown-codec': (name, detail) => `${name} is packed in a way this program cannot read${detail ? ` (${detail})` : ''}: ask for it as H.264 or HEVC.`,
  'no-sound': (name) => `${name} has no sound.`,
  'disk-full': (name) => `The disk is full: make room, then take ${name} in again.`,
  'cancelled': (name) => `The work on ${name} was cancelled.`,
  'superseded': (name) => `A newer frame of ${name} or of another clip was asked for first.`,
  'crashed': (name) => `The video reader stopped while it worked on ${name}: try once more, and if it stops again the file is damaged.`,
  'failed': (name, detail) => `${name} could not be processed${detail ? `: ${detail}` : ''}.`,
}

/** A typed refusal. `message` is one sentence for the coach; `detail` is for the log. */
export class MediaError extends Error {
  readonly kind: MediaErrorKind
  readonly path: string
  readonly detail: string

  constructor(kind: MediaErrorKind, path: string, detail = '', options?: ErrorOptions) {
    super(sentences[kind](basename(path), detail), options)
    this.name = 'MediaError'
    this.kind = kind
    this.path = path
    this.detail = detail
  }
}

/** A thrown value as a MediaError: system errors by their code, everything else as `failed`. */
export function asMediaError(thrown: unknown, path: string): MediaError {
  if (thrown instanceof MediaError) return thrown
  const code = thrown instanceof Error && 'code' in thrown ? thrown.code : null
  // FFmpeg's codes are negative errno values: -28 is "no space left".
  const kind: MediaErrorKind = code === 'ENOENT' ? 'absent'
    : code === 'EACCES' || code === 'EPERM' ? 'permission'
      : code === 'ENOSPC' || code === -28 ? 'disk-full'
        : thrown instanceof Error && thrown.name === 'AbortError' ? 'cancelled' : 'failed'
  return new MediaError(kind, path, thrown instanceof Error ? thrown.message : String(thrown), { cause: thrown })
}

/** Throws a `cancelled` MediaError once the signal has been given. */
export function stopIfCancelled(signal: AbortSignal | undefined, path: string): void {
  if (signal?.aborted) throw new MediaError('cancelled', path)
}
