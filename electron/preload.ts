import { contextBridge, ipcRenderer, webUtils } from 'electron'
import { appOrigin, channels } from './desk/gate.ts'

contextBridge.exposeInMainWorld('crossbearingDesk', {
  call: (name: string, input: unknown): Promise<unknown> => ipcRenderer.invoke(channels.call, name, input),
  listen(heard: (event: unknown) => void): () => void {
    const pass = (_event: unknown, deskEvent: unknown): void => heard(deskEvent)
    ipcRenderer.on(channels.event, pass)
    return () => void ipcRenderer.off(channels.event, pass)
  },
  pathOf: (file: File): string => webUtils.getPathForFile(file),
  mediaRoot: `${appOrigin}/media/`,
})
