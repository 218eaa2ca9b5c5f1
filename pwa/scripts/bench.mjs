/**
 * The engine as the phone runs it (WebAssembly, here in Node's V8, which is
 * Chromium's): a room of 1 and of 200 bins with two years of entries, made of
 * the example household over and over, as internal/engine's own benchmark
 * does. Compare with its native figures, which `make bench` prints before.
 * Needs a built app; starts the tests' server to get the example from.
 */
import { execFileSync } from 'node:child_process'
import { mkdirSync, readFileSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import { results, Server } from '../e2e/server.mjs'
import { roomOf } from './rooms.mjs'

const root = fileURLToPath(new URL('../../', import.meta.url))
const publicFile = (name) => new URL(`../public/${name}`, import.meta.url)

async function exampleRoom() {
  mkdirSync(results, { recursive: true })
  execFileSync('go', ['build', '-o', `${results}apptest`, './backend/apptest'], {
    cwd: root,
    stdio: 'inherit',
  })
  const server = await Server.start()
  try {
    const response = await fetch(`${server.url}/api/underlog/example`, {
      method: 'POST',
      headers: { 'Content-Type': 'application/json' },
      body: JSON.stringify({ time_zone: 'UTC', units: 'us' }),
    })
    const { token } = await response.json()
    return await server.everything(token)
  } finally {
    await server.stop()
  }
}

async function loadEngine() {
  await import(publicFile('wasm_exec.js'))
  const go = new globalThis.Go()
  const began = performance.now()
  const { instance } = await WebAssembly.instantiate(readFileSync(publicFile('engine.wasm')), go.importObject)
  const ready = new Promise((resolve) => (globalThis.underlogEngineReady = resolve))
  void go.run(instance)
  await ready
  return { engine: globalThis.underlogEngine, loadedIn: performance.now() - began }
}

function time(what, work) {
  const began = performance.now()
  const answer = work()
  const took = performance.now() - began
  if (answer?.error) throw new Error(answer.error)
  console.log(`${what.padEnd(58)}${took.toFixed(1).padStart(10)} ms`)
  return answer
}

const base = await exampleRoom()
const { engine, loadedIn } = await loadEngine()
console.log(`${'engine compiled and up'.padEnd(58)}${loadedIn.toFixed(1).padStart(10)} ms`)
const now = new Date()
const at = (minutes) => new Date(now.getTime() + minutes * 60_000).toISOString()

for (const bins of [1, 200]) {
  const room = roomOf(bins, base)
  const since = now.getTime() - 201 * 86_400_000
  const recent = room.entries.filter((entry) => Date.parse(entry.at) > since)
  engine.reset()
  const title = `${bins} ${bins === 1 ? 'bin' : 'bins'}`
  const json = JSON.stringify({ sheets: room.sheets, entries: recent })
  time(`${title}: put ${recent.length} of ${room.entries.length} entries (last 200 days)`, () =>
    engine.put(json),
  )
  time(`${title}: first survey`, () => engine.survey(at(0)))
  time(`${title}: survey a minute later, nothing new`, () => engine.survey(at(1)))
  const bin = room.sheets.find((sheet) => sheet.sheet === 'bins').id
  const felt = { id: `bench${bins}`.padEnd(32, '0'), bin, at: at(1), what: 'feel', feel: 'damp' }
  time(`${title}: survey after one bin was felt`, () => {
    engine.put(JSON.stringify({ sheets: [], entries: [felt] }))
    return engine.survey(at(2))
  })
  time(`${title}: outlook of one bin`, () => engine.outlook(bin, at(2)))
}
process.exit(0) // the engine waits for questions for ever
