/** `npm run speed`: runs every benchmark of tests/speed in turn and prints what it prints. `npm run speed -- NAME` runs those that match. */
import { spawnSync } from 'node:child_process'
import { readdirSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'

const root = fileURLToPath(new URL('..', import.meta.url))
const wanted = process.argv.slice(2)
const files = readdirSync(join(root, 'tests/speed')).filter((file) => file.endsWith('.ts') && (wanted.length === 0 || wanted.some((name) => file.includes(name))))
let broken = 0
for (const file of files) {
  console.log(`\n== ${file}`)
  const { status } = spawnSync(process.execPath, [join('tests/speed', file)], { cwd: root, stdio: 'inherit' })
  if (status !== 0) broken++
}
if (files.length === 0) console.log('no benchmark of that name')
process.exit(broken ? 1 : 0)
