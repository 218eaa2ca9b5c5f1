/**
 * What a phone fetches before the first screen, compressed, beside its budget.
 * Fails when the shell is over it, or is not all compiled ahead. Run after a build.
 */
import { readdirSync, readFileSync } from 'node:fs'
import { brotliCompressSync, gzipSync } from 'node:zlib'

const BUDGET = 90_000 // bytes of gzip for the JavaScript of the first screen, before the engine
const AHEAD = '//# allFunctionsCalledOnLoad\n'

const dist = new URL('../dist/', import.meta.url)
const read = (file) => readFileSync(new URL(file, dist))

/** The entry script and every chunk that it imports at once. */
function shell(html) {
  const found = new Set()
  const visit = (file) => {
    if (found.has(file)) return
    found.add(file)
    const source = read(file).toString()
    for (const [, name] of source.matchAll(/(?:from|import)\s*["'`]\.\/([\w.-]+\.js)["'`]/g))
      visit(`assets/${name}`)
  }
  for (const [, src] of html.matchAll(/<script[^>]+src="\/([^"]+)"/g)) visit(src)
  return [...found]
}

const kb = (bytes) => `${(bytes / 1000).toFixed(1)} kB`.padStart(10)
const row = (name, files) => {
  const all = files.map(read)
  const gzip = all.reduce((sum, file) => sum + gzipSync(file).length, 0)
  const brotli = all.reduce((sum, file) => sum + brotliCompressSync(file).length, 0)
  console.log(`${name.padEnd(34)}${kb(gzip)} gzip${kb(brotli)} brotli`)
  return gzip
}

const files = readdirSync(dist, { recursive: true }).map(String)
const first = shell(read('index.html').toString())
const total = row('JavaScript of the first screen', first)
row(
  'all JavaScript of the pages',
  files.filter((f) => /^assets\/.*\.js$/.test(f) && !/worker-/.test(f)),
)
row(
  'styles',
  files.filter((f) => f.endsWith('.css')),
)
row('service worker', ['sw.js'])
row(
  'engine worker',
  files.filter((f) => /assets\/worker-.*\.js$/.test(f)),
)
row('engine', ['engine.wasm', 'wasm_exec.js'])
console.log(`budget of the first screen ${kb(BUDGET)} gzip; used ${((100 * total) / BUDGET).toFixed(1)} %`)
if (total > BUDGET) process.exitCode = 1
for (const file of first.filter(
  (name) => name.startsWith('assets/') && !read(name).toString().startsWith(AHEAD),
)) {
  console.error(`${file} is of the first screen and does not ask to be compiled ahead: see vite.config.ts`)
  process.exitCode = 1
}
