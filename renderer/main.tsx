import { StrictMode } from 'react'
import { createRoot } from 'react-dom/client'
import { App } from './App.tsx'
import { connect } from './bridge/index.ts'
import { DeskProvider } from './ui/desk.tsx'
import { openLibrary } from './ui/libraryStore.ts'
import { faultOf } from './ui/notices.ts'
import { setTheme } from './ui/theme.ts'
import './ui/base.css'
import './ui/parts.css'
import './ui/shell.css'

const root = createRoot(document.getElementById('root')!)

async function open(): Promise<void> {
  const bridge = await connect()
  const settings = await bridge.call('settings.get', {})
  setTheme(settings.theme)
  root.render(
    <StrictMode>
      <DeskProvider bridge={bridge} library={openLibrary(bridge)}><App /></DeskProvider>
    </StrictMode>,
  )
}

open().catch((error: unknown) => {
  const { message, remedy } = faultOf(error)
  root.render(
    <main className="no-desk">
      <h1>Crossbearing cannot open its library</h1>
      <p>{message}</p>
      <p>{remedy ?? 'Close this window and start Crossbearing again.'}</p>
    </main>,
  )
})
