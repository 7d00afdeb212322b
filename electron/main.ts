import { app, dialog, ipcMain, protocol } from 'electron'
import { join } from 'node:path'
import { parseArgs } from 'node:util'
import { DeskError } from '../shared/contract/errors.ts'
import { serveApp } from './desk/appPages.ts'
import { createDesk, type OpenDesk } from './desk/createDesk.ts'
import { appScheme, channels } from './desk/gate.ts'
import { wireCall } from './desk/wireCall.ts'
import { libraryFolder } from './library/layout.ts'
import { guardContents, guardSession, openWindow, tellWindows } from './windows.ts'

const log = (line: string): void => console.error(line)
const { values } = parseArgs({ args: process.argv.slice(1), strict: false, options: { library: { type: 'string' } } })

app.enableSandbox()
protocol.registerSchemesAsPrivileged([
  { scheme: appScheme, privileges: { standard: true, secure: true, stream: true, supportFetchAPI: true, codeCache: true } },
])
app.on('web-contents-created', (_event, contents) => guardContents(contents))

function openDesk(): OpenDesk | null {
  try {
    return createDesk({ folder: libraryFolder(typeof values.library === 'string' ? values.library : null), log })
  } catch (error) {
    if (!(error instanceof DeskError)) throw error
    dialog.showErrorBox(error.message, [error.fault.where, error.fault.remedy].filter(Boolean).join('\n'))
    return null
  }
}

async function start(): Promise<void> {
  await app.whenReady()
  const desk = openDesk()
  if (!desk) return app.exit(1)
  guardSession()
  protocol.handle(appScheme, (request) => serveApp(desk, join(app.getAppPath(), 'out', 'renderer'), request))
  ipcMain.handle(channels.call, ({ senderFrame }, name: unknown, input: unknown) =>
    wireCall(desk, { url: senderFrame?.url ?? null, isMainFrame: senderFrame !== null && senderFrame.parent === null }, name, input, log),
  )
  desk.listen((event) => tellWindows(channels.event, event))
  app.on('activate', () => openWindow(app.getAppPath()))
  app.on('second-instance', () => openWindow(app.getAppPath()))
  app.on('window-all-closed', () => app.quit())
  let isClosed = false
  app.on('will-quit', (event) => {
    if (isClosed) return
    event.preventDefault()
    isClosed = true
    desk.close().then(
      () => app.quit(),
      () => app.exit(1),
    )
  })
  for (const signal of ['SIGINT', 'SIGTERM'] as const) process.on(signal, () => app.quit())
  openWindow(app.getAppPath())
}

if (app.requestSingleInstanceLock()) void start()
else app.quit()
