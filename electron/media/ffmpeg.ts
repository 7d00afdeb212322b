import { AV_LOG_QUIET, AVERROR_EAGAIN, AVERROR_EOF, FFmpegError, Log } from 'node-av'

// FFmpeg's own chatter goes to standard error and means nothing to the coach; what matters comes back as codes.
Log.setLevel(AV_LOG_QUIET)

/** Throws an FFmpegError for a negative code and hands a good one through. */
export function must(code: number, what: string): number {
  FFmpegError.throwIfError(code, what)
  return code
}

/** True for "give me more" and for "that was all": neither is an error. */
export const isPause = (code: number): boolean => code === AVERROR_EAGAIN || code === AVERROR_EOF

export const isEnd = (code: number): boolean => code === AVERROR_EOF
