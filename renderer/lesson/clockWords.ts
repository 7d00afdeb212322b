/** `0:07`, `12:30`, `1:02:03`; milliseconds, cut and not rounded, as a clock shows time. */
export function clockWords(ms: number): string {
  const seconds = Math.max(0, Math.floor(ms / 1000))
  const two = (n: number) => String(n).padStart(2, '0')
  const hours = Math.floor(seconds / 3600)
  const rest = `${hours ? two(Math.floor(seconds / 60) % 60) : Math.floor(seconds / 60)}:${two(seconds % 60)}`
  return hours ? `${hours}:${rest}` : rest
}
