import { settingsSchema, type Settings } from '../../shared/contract/operations.ts'
import type { Sqlite } from './database.ts'
import { all, put } from './statement.ts'

const defaults: Settings = {
  theme: 'dark',
  palette: 'at-pointer',
  inputDevice: '',
  countInSeconds: 3,
  clickError: { squares: 0, freedom: 0 },
  handoffsPaused: false,
  plan: { name: '', lines: [], paper: 'a4' },
  handoff: { size: '1080p', orientation: 'landscape', fps: 30 },
}

/** Each setting that was saved and still fits, the default for the others. */
export function getSettings(db: Sqlite): Settings {
  const saved: Record<string, unknown> = { ...defaults }
  for (const { name, value } of all<{ name: string; value: string }>(db, 'SELECT name, value FROM settings')) {
    if (!(name in settingsSchema.shape)) continue
    const parsed = settingsSchema.shape[name as keyof Settings].safeParse(JSON.parse(value))
    if (parsed.success) saved[name] = parsed.data
  }
  return settingsSchema.parse(saved)
}

export function setSettings(db: Sqlite, patch: Partial<{ [K in keyof Settings]: Settings[K] | undefined }>): Settings {
  for (const [name, value] of Object.entries(patch))
    if (value !== undefined) put(db, 'settings', { name, value: JSON.stringify(value) }, 'name')
  return getSettings(db)
}
