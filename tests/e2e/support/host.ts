/** The desk behind its loopback host, in a process of its own, for the browser tests: `node host.ts LIBRARY RENDERER`. */
import { createDesk } from '../../../electron/desk/createDesk.ts'
import { startLoopback } from '../../../electron/loopback/host.ts'

const [library, renderer] = process.argv.slice(2) as [string, string]
// Checking every answer against the contract is for tests; where time is measured it would be measured too.
const desk = createDesk({ folder: library, checkAnswers: process.env.CROSSBEARING_UNCHECKED !== '1' })
const host = await startLoopback({ desk, renderer })
process.stdout.write(`${JSON.stringify({ url: host.url })}\n`)

const close = async (): Promise<void> => {
  await host.close()
  await desk.close()
  process.exit(0)
}
process.once('SIGTERM', () => void close())
// The test run that started this is gone.
process.stdin.on('end', () => void close()).resume()
