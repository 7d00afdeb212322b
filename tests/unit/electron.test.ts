import { EventEmitter } from 'node:events'
import { mkdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest'
import type { DeskError } from '../../shared/contract/errors.ts'
import { isOwnAddress, mayCall, mayHave } from '../../electron/desk/gate.ts'
import { temporaryFolder, studentOf } from '../fixtures/desk.ts'

/** A stand-in for Electron's module: as much of it as the three host files use, recording what they set. */
const stand = vi.hoisted(() => {
  const state = {
    handlers: new Map<string, (...args: unknown[]) => unknown>(),
    schemes: [] as unknown[],
    protocols: new Map<string, (request: Request) => Promise<Response>>(),
    windows: [] as unknown[],
    exposed: {} as Record<string, unknown>,
    permission: {} as { request?: (...args: unknown[]) => void; check?: (...args: unknown[]) => boolean; device?: () => boolean },
    sent: [] as [string, unknown][],
    preloadListeners: new Map<string, ((...args: unknown[]) => void)[]>(),
    appPath: '',
    quits: 0,
  }
  return state
})

vi.mock('electron', async () => {
  const { EventEmitter: Emitter } = await import('node:events')
  class Contents extends Emitter {
    openHandler: ((details: { url: string }) => unknown) | null = null
    setWindowOpenHandler(handler: (details: { url: string }) => unknown) {
      this.openHandler = handler
    }
    send(channel: string, value: unknown) {
      stand.sent.push([channel, value])
    }
  }
  class BrowserWindow extends Emitter {
    static getAllWindows() {
      return stand.windows
    }
    readonly webContents = new Contents()
    readonly options: unknown
    url = ''
    constructor(options: unknown) {
      super()
      this.options = options
      stand.windows.push(this)
      app.emit('web-contents-created', {}, this.webContents)
    }
    loadURL(url: string) {
      this.url = url
      return Promise.resolve()
    }
    isMinimized() {
      return false
    }
    focus() {}
    show() {}
  }
  class App extends Emitter {
    isSandboxed = false
    enableSandbox() {
      this.isSandboxed = true
    }
    requestSingleInstanceLock() {
      return true
    }
    whenReady() {
      return Promise.resolve()
    }
    getAppPath() {
      return stand.appPath
    }
    quit() {
      stand.quits++
    }
    exit() {
      stand.quits++
    }
  }
  const app = new App()
  return {
    app,
    BrowserWindow,
    dialog: { showErrorBox: () => {} },
    ipcMain: { handle: (channel: string, handler: (...args: unknown[]) => unknown) => stand.handlers.set(channel, handler) },
    protocol: {
      registerSchemesAsPrivileged: (schemes: unknown[]) => stand.schemes.push(...schemes),
      handle: (scheme: string, handler: (request: Request) => Promise<Response>) => stand.protocols.set(scheme, handler),
    },
    session: {
      defaultSession: {
        setPermissionRequestHandler: (handler: (...args: unknown[]) => void) => {
          stand.permission.request = handler
        },
        setPermissionCheckHandler: (handler: (...args: unknown[]) => boolean) => {
          stand.permission.check = handler
        },
        setDevicePermissionHandler: (handler: () => boolean) => {
          stand.permission.device = handler
        },
      },
    },
    contextBridge: {
      exposeInMainWorld: (name: string, api: unknown) => {
        stand.exposed[name] = api
      },
    },
    ipcRenderer: {
      invoke: (channel: string, ...args: unknown[]) =>
        stand.handlers.get(channel)!({ senderFrame: { url: 'crossbearing://app/', parent: null } }, ...args),
      on: (channel: string, heard: (...args: unknown[]) => void) => {
        stand.preloadListeners.set(channel, [...(stand.preloadListeners.get(channel) ?? []), heard])
      },
      off: (channel: string, heard: (...args: unknown[]) => void) => {
        stand.preloadListeners.set(
          channel,
          (stand.preloadListeners.get(channel) ?? []).filter((each) => each !== heard),
        )
      },
    },
    webUtils: { getPathForFile: (file: File) => `/chosen/${file.name}` },
  }
})

const folder = temporaryFolder()
const argv = process.argv
beforeAll(async () => {
  stand.appPath = folder.path
  mkdirSync(join(folder.path, 'out', 'renderer'), { recursive: true })
  writeFileSync(join(folder.path, 'out', 'renderer', 'index.html'), 'the page')
  process.argv = ['electron', folder.path, '--library', join(folder.path, 'library')]
  await import('../../electron/main.ts')
  await vi.waitFor(() => expect(stand.windows).toHaveLength(1))
  await import('../../electron/preload.ts')
})
afterAll(async () => {
  process.argv = argv
  for (const signal of ['SIGINT', 'SIGTERM']) process.removeAllListeners(signal)
  folder[Symbol.dispose]()
})

type StandWindow = EventEmitter & {
  options: { webPreferences: Record<string, unknown> }
  url: string
  webContents: EventEmitter & { openHandler: (details: { url: string }) => unknown }
}
const theWindow = () => stand.windows[0] as StandWindow
const channel = 'desk:call'
const callFrom = (senderFrame: unknown, name: string, input: unknown) =>
  stand.handlers.get(channel)!({ senderFrame }, name, input) as Promise<Record<string, unknown>>

describe('the gate', () => {
  test.each([
    ['crossbearing://app/', true],
    ['crossbearing://app/index.html?x#y', true],
    ['crossbearing://other/', false],
    ['crossbearing://app.evil/', false],
    ['crossbearing://user@app/', false],
    ['https://app/', false],
    ['file:///app/', false],
    ['about:blank', false],
    ['data:text/html,x', false],
    ['', false],
    ['crossbearing:app', false],
  ])('%s is our own: %s', (address, own) => expect(isOwnAddress(address)).toBe(own))
  test('only our page itself may call', () => {
    expect(mayCall({ url: 'crossbearing://app/', isMainFrame: true })).toBe(true)
    expect(mayCall({ url: 'crossbearing://app/', isMainFrame: false })).toBe(false)
    expect(mayCall({ url: null, isMainFrame: true })).toBe(false)
    expect(mayCall({ url: 'https://evil.example/', isMainFrame: true })).toBe(false)
  })
  test.each([
    ['media', ['audio'], true],
    ['media', ['video'], false],
    ['media', ['audio', 'video'], false],
    ['media', [], false],
    ['media', [undefined], false],
    ['geolocation', ['audio'], false],
    ['notifications', [], false],
    ['clipboard-read', [], false],
  ])('%s with %o: %s', (permission, media, may) => {
    expect(mayHave({ permission, media, url: 'crossbearing://app/' })).toBe(may)
    expect(mayHave({ permission, media, url: 'https://evil.example/' })).toBe(false)
  })
})

describe('main, run against a stand-in for Electron', () => {
  test('the window is fenced in', () => {
    expect(theWindow().options.webPreferences).toMatchObject({
      contextIsolation: true,
      sandbox: true,
      nodeIntegration: false,
      webviewTag: false,
      preload: join(folder.path, 'out', 'preload', 'preload.cjs'),
    })
    expect(theWindow().url).toBe('crossbearing://app/')
    expect(stand.schemes).toEqual([
      { scheme: 'crossbearing', privileges: { standard: true, secure: true, stream: true, supportFetchAPI: true, codeCache: true } },
    ])
  })

  test('goes nowhere, opens nothing, holds nothing', () => {
    const { webContents } = theWindow()
    expect(webContents.openHandler({ url: 'crossbearing://app/' })).toEqual({ action: 'deny' })
    for (const name of ['will-navigate', 'will-redirect', 'will-attach-webview']) {
      const event = { url: 'https://evil.example/', preventDefault: vi.fn() }
      webContents.emit(name, event)
      expect(event.preventDefault).toHaveBeenCalledOnce()
    }
    const reload = { url: 'crossbearing://app/', preventDefault: vi.fn() }
    webContents.emit('will-navigate', reload)
    expect(reload.preventDefault).not.toHaveBeenCalled()
  })

  test('permissions: the microphone for our page', () => {
    const asked = (permission: string, details: object): unknown => {
      let answer: unknown
      stand.permission.request!(
        {},
        permission,
        (given: boolean) => {
          answer = given
        },
        details,
      )
      return answer
    }
    expect(asked('media', { mediaTypes: ['audio'], requestingUrl: 'crossbearing://app/' })).toBe(true)
    expect(asked('media', { mediaTypes: ['video', 'audio'], requestingUrl: 'crossbearing://app/' })).toBe(false)
    expect(asked('media', { mediaTypes: ['audio'], requestingUrl: 'https://evil.example/' })).toBe(false)
    expect(asked('geolocation', { requestingUrl: 'crossbearing://app/' })).toBe(false)
    expect(stand.permission.check!(null, 'media', 'crossbearing://app', { mediaType: 'audio' })).toBe(true)
    expect(stand.permission.check!(null, 'media', 'crossbearing://app', { mediaType: 'video' })).toBe(false)
    expect(stand.permission.device!()).toBe(false)
  })

  test('a call goes through the gate to the desk and back', async () => {
    const page = { url: 'crossbearing://app/', parent: null }
    expect(await callFrom(page, 'student.save', studentOf('Ada'))).toMatchObject({ value: { name: 'Ada' } })
    expect(await callFrom(page, 'student.remove', { id: 'nobody' })).toMatchObject({ fault: { kind: 'not-found' } })
    for (const stranger of [null, { url: 'https://evil.example/', parent: null }, { url: 'crossbearing://app/', parent: page }])
      expect(await callFrom(stranger, 'student.list', {})).toMatchObject({ fault: { kind: 'not-allowed' } })
    expect(stand.sent).toContainEqual(['desk:event', { type: 'changed', what: 'students' }])
  })

  test('the scheme serves the page with its fence, and media paths', async () => {
    const get = (url: string) => stand.protocols.get('crossbearing')!(new Request(url))
    const page = await get('crossbearing://app/')
    expect([page.status, await page.text(), page.headers.get('cross-origin-embedder-policy')]).toEqual([200, 'the page', 'require-corp'])
    expect(page.headers.get('content-security-policy')).toContain(`default-src 'none'`)
    expect((await get('crossbearing://app/media/review/none.mp4')).status).toBe(404)
    expect((await get('crossbearing://app/%2e%2e/%2e%2e/library/library.sqlite')).status).toBe(404)
    expect((await get('crossbearing://elsewhere/')).status).toBe(404)
  })

  test('the preload gives the page what its bridge expects, and no more', async () => {
    expect(Object.keys(stand.exposed)).toEqual(['crossbearingDesk'])
    const { preloadBridge } = await import('../../renderer/bridge/preloadBridge.ts')
    const api = stand.exposed.crossbearingDesk as Parameters<typeof preloadBridge>[0]
    expect(Object.keys(api).toSorted()).toEqual(['call', 'listen', 'mediaRoot', 'pathOf'])
    const bridge = preloadBridge(api)
    expect((await bridge.call('student.list', {})).map(({ name }) => name)).toEqual(['Ada'])
    const fault = await bridge.call('clip.get', { id: 'none' }).catch((error: unknown) => (error as DeskError).fault)
    expect(fault).toMatchObject({ kind: 'not-found', message: 'This clip is not in the library any more.' })
    expect(await bridge.stage(new File([], 'a.mp4'))).toEqual({ path: '/chosen/a.mp4' })
    expect(bridge.mediaUrl('review/x.mp4')).toBe('crossbearing://app/media/review/x.mp4')
    const heard: unknown[] = []
    const stop = bridge.listen((event) => heard.push(event))
    for (const pass of stand.preloadListeners.get('desk:event')!) {
      pass({}, { type: 'changed', what: 'clips' })
      pass({}, { type: 'nonsense' })
    }
    expect(heard).toEqual([{ type: 'changed', what: 'clips' }])
    stop()
    expect(stand.preloadListeners.get('desk:event')).toEqual([])
  })

  test('quitting closes the desk first', async () => {
    const { app } = (await import('electron')) as unknown as { app: EventEmitter }
    const event = { preventDefault: vi.fn() }
    app.emit('will-quit', event)
    expect(event.preventDefault).toHaveBeenCalledOnce()
    await expect.poll(() => stand.quits).toBe(1)
    expect(await callFrom({ url: 'crossbearing://app/', parent: null }, 'student.list', {})).toMatchObject({ fault: { kind: 'cancelled' } })
    const again = { preventDefault: vi.fn() }
    app.emit('will-quit', again)
    expect(again.preventDefault).not.toHaveBeenCalled()
  })
})
