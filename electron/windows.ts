import { BrowserWindow, session, type WebContents } from 'electron'
import { join } from 'node:path'
import { appOrigin, isOwnAddress, mayHave } from './desk/gate.ts'

/** Brings the window to the front, or opens it. `appPath` is the folder that holds `out`. */
export function openWindow(appPath: string): void {
  const [open] = BrowserWindow.getAllWindows()
  if (open) {
    if (open.isMinimized()) open.restore()
    return open.focus()
  }
  const window = new BrowserWindow({
    width: 1440,
    height: 900,
    minWidth: 1100,
    minHeight: 700,
    show: false,
    backgroundColor: '#16181b',
    title: 'Crossbearing',
    webPreferences: {
      preload: join(appPath, 'out', 'preload', 'preload.cjs'),
      contextIsolation: true,
      sandbox: true,
      nodeIntegration: false,
      webviewTag: false,
      spellcheck: false,
      backgroundThrottling: false,
    },
  })
  window.once('ready-to-show', () => window.show())
  void window.loadURL(`${appOrigin}/`)
}

/** No page goes anywhere, opens anything or holds anything but our own. */
export function guardContents(contents: WebContents): void {
  contents.setWindowOpenHandler(() => ({ action: 'deny' }))
  contents.on('will-navigate', (event) => {
    if (!isOwnAddress(event.url)) event.preventDefault()
  })
  contents.on('will-redirect', (event) => {
    if (!isOwnAddress(event.url)) event.preventDefault()
  })
  contents.on('will-attach-webview', (event) => event.preventDefault())
}

/** The microphone for our own page; nothing else for anyone. */
export function guardSession(): void {
  session.defaultSession.setPermissionRequestHandler((_contents, permission, answer, details) =>
    answer(mayHave({ permission, media: 'mediaTypes' in details ? (details.mediaTypes ?? []) : [], url: details.requestingUrl })),
  )
  session.defaultSession.setPermissionCheckHandler((_contents, permission, origin, details) =>
    mayHave({ permission, media: [details.mediaType], url: origin }),
  )
  session.defaultSession.setDevicePermissionHandler(() => false)
}

export function tellWindows(channel: string, event: unknown): void {
  for (const window of BrowserWindow.getAllWindows()) window.webContents.send(channel, event)
}
