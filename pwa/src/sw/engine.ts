/**
 * The engine's files have their content's hash in their address, so a cached
 * one is never stale. They are some megabytes: fetched after first use, not at
 * install.
 */
const CACHE = 'underlog-engine'
const FILES = [`/engine.wasm?v=${__ENGINE_VERSION__}`, `/wasm_exec.js?v=${__ENGINE_VERSION__}`]

export function isEngineFile(url: URL): boolean {
  return url.pathname === '/engine.wasm' || url.pathname === '/wasm_exec.js'
}

export async function answerFromEngineCache(request: Request): Promise<Response> {
  const cache = await caches.open(CACHE)
  const kept = await cache.match(request)
  if (kept) return kept
  const response = await fetch(request)
  if (response.ok) await cache.put(request, response.clone())
  return response
}

/** Fetches what is missing and lets go of earlier versions. */
export async function keepEngine(): Promise<void> {
  const cache = await caches.open(CACHE)
  for (const file of FILES) {
    if (await cache.match(file)) continue
    const response = await fetch(file)
    if (response.ok) await cache.put(file, response)
  }
  for (const request of await cache.keys()) {
    const { pathname, search } = new URL(request.url)
    if (!FILES.includes(pathname + search)) await cache.delete(request)
  }
}
