/** What the preload puts on the window; the other side of this stands in electron/preload.ts, and a test holds the two together. */
export interface PreloadApi {
  /** A call's answer, or its fault: errors lose their shape on the way between processes. */
  call(name: string, input: unknown): Promise<{ readonly value: unknown } | { readonly fault: unknown }>
  listen(heard: (event: unknown) => void): () => void
  /** Path of a file the user chose or dropped; empty for one that is not on a disk. */
  pathOf(file: File): string
  /** Where media paths begin. */
  readonly mediaRoot: string
}

declare global {
  var crossbearingDesk: PreloadApi | undefined
}
