/** `1:02.5`: minutes, seconds, and tenths where there are any; hours in front where it comes to that. */
export function captionTime(ms: number): string {
  const tenths = Math.round(ms / 100)
  const seconds = Math.floor(tenths / 10)
  const [hours, minutes] = [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60]
  const head = hours > 0 ? `${hours}:${String(minutes).padStart(2, '0')}` : String(minutes)
  return `${head}:${String(seconds % 60).padStart(2, '0')}.${tenths % 10}`
}

/** Milliseconds of a time as a coach types it: `12`, `12.5`, `1:02.5`, `1:00:02`; null where it is none. */
export function readCaptionTime(text: string): number | null {
  const parts = /^(?:(?:(\d+):)?(\d{1,3}):)?(\d{1,5}(?:[.,]\d{1,3})?)$/.exec(text.trim())
  if (!parts) return null
  const seconds = Number(parts[3]!.replace(',', '.'))
  if (parts[2] !== undefined && seconds >= 60) return null
  return Math.round((Number(parts[1] ?? 0) * 3600 + Number(parts[2] ?? 0) * 60 + seconds) * 1000)
}

/** What is wrong with the times of a caption, in a sentence; null where nothing is. */
export function captionFault({ from, to, text }: { readonly from: string; readonly to: string; readonly text: string }): string | null {
  const [start, end] = [readCaptionTime(from), readCaptionTime(to)]
  const name = `"${text.trim().slice(0, 40)}"`
  if (start === null) return `${name}: "${from}" is no time. Write it as 1:02.5.`
  if (end === null) return `${name}: "${to}" is no time. Write it as 1:02.5.`
  return end > start ? null : `${name} ends before it begins.`
}
