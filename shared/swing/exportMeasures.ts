import type { SwingResult } from './measureSwing.ts'

const cell = (value: string | number | null): string => {
  const text = value === null ? '' : String(value)
  return /[",\n\r]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text
}

/** The result as CSV (RFC 4180): one row a measure and position, those that cannot be had with the reason. */
export function measuresCsv(result: SwingResult): string {
  const rows: (string | number | null)[][] = [['id', 'view', 'at', 'value', 'unit', 'sigma', 'lo', 'hi', 'basis', 'missing']]
  for (const m of result.measures) rows.push([m.id, m.view, m.at, m.value, m.unit, m.sigma, m.lo, m.hi, m.basis, null])
  for (const m of result.missing) rows.push([m.id, m.view, m.at, null, null, null, null, null, null, m.why])
  return rows.map((row) => `${row.map(cell).join(',')}\r\n`).join('')
}
