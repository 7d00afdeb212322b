/**
 * The part of a Canvas 2D context that the picture uses. A browser's context and the desk's both fit it as they are,
 * which is what lets the screen and the file be drawn by the same code.
 */
export interface Canvas2D {
  save(): void
  restore(): void
  beginPath(): void
  closePath(): void
  moveTo(x: number, y: number): void
  lineTo(x: number, y: number): void
  quadraticCurveTo(cx: number, cy: number, x: number, y: number): void
  arc(x: number, y: number, radius: number, start: number, end: number, anticlockwise?: boolean): void
  rect(x: number, y: number, width: number, height: number): void
  roundRect(x: number, y: number, width: number, height: number, radius: number): void
  clip(): void
  stroke(): void
  fill(): void
  fillRect(x: number, y: number, width: number, height: number): void
  clearRect(x: number, y: number, width: number, height: number): void
  fillText(text: string, x: number, y: number): void
  measureText(text: string): { readonly width: number }
  setLineDash(segments: number[]): void
  setTransform(a: number, b: number, c: number, d: number, e: number, f: number): void
  lineWidth: number
  lineCap: 'butt' | 'round' | 'square'
  lineJoin: 'bevel' | 'miter' | 'round'
  globalAlpha: number
  font: string
  // What is read back may be a gradient; what the picture sets is a colour.
  get strokeStyle(): unknown
  set strokeStyle(colour: string)
  get fillStyle(): unknown
  set fillStyle(colour: string)
  textBaseline: 'alphabetic' | 'bottom' | 'hanging' | 'ideographic' | 'middle' | 'top'
  textAlign: 'center' | 'end' | 'left' | 'right' | 'start'
}
