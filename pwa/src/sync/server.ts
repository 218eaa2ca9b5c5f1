import { db } from '../data/db'
import { line as words } from '../words/en.line'

/** The server did not answer, or not with what it should: try again later. */
export class Away extends Error {
  constructor(
    message: string,
    readonly retryAfterMs = 0,
    readonly slow = false, // the time ran out: smaller pages may get through
    readonly status = 0, // what it answered, if it answered
  ) {
    super(message)
  }
}

/** The server answered that it will not: a status and its sentence. */
export class Refusal extends Error {
  constructor(
    message: string,
    readonly status = 0,
  ) {
    super(message)
  }
}

export interface Call {
  method?: 'GET' | 'POST' | 'PUT' | 'DELETE'
  body?: unknown
  /** The body where it is JSON already, in parts that follow one another. */
  json?: Packed[]
  /** A session token; the device's own unless given. null: nobody. */
  token?: string | null
  timeoutMs?: number
  signal?: AbortSignal
}

/** JSON as it travels. Squeezed parts that follow one another are read as one (RFC 1952, 2.2). */
export type Packed = string | Promise<ArrayBuffer>

const TIMEOUT_MS = 20_000
const WORTH_SQUEEZING = 2048 // bytes; below, compression costs more than it saves

/** Calls a route and answers its JSON (null where there is none). Throws Away or Refusal, nothing else. */
export async function call<T>(path: string, options: Call = {}): Promise<T> {
  const { answer } = await request<T>(path, options)
  return answer
}

export async function request<T>(path: string, options: Call): Promise<{ answer: T; response: Response }> {
  const stop = new AbortController()
  let isSlow = false
  const timer = setTimeout(() => {
    isSlow = true
    stop.abort()
  }, options.timeoutMs ?? TIMEOUT_MS)
  options.signal?.addEventListener('abort', () => stop.abort())
  const token = options.token === undefined ? await db.get('token') : options.token
  const headers: Record<string, string> = { Accept: 'application/json' }
  if (token) headers['Authorization'] = token
  const json = options.json ?? (options.body === undefined ? [] : [pack(JSON.stringify(options.body))])
  let body: BodyInit | undefined
  if (json.length > 0) {
    headers['Content-Type'] = 'application/json'
    if (json.every((part) => typeof part === 'string')) body = json.join('')
    else {
      headers['Content-Encoding'] = 'gzip'
      const parts = json.map((part) => (typeof part === 'string' ? squeeze(part) : part))
      body = joined(await Promise.all(parts))
    }
  }
  let response: Response
  let text: string
  try {
    response = await fetch(path, {
      method: options.method ?? 'GET',
      headers,
      body,
      signal: stop.signal,
      cache: 'no-store',
    })
    text = await response.text()
  } catch {
    throw new Away(words.away, 0, isSlow)
  } finally {
    clearTimeout(timer)
  }
  const answer = parse(text)
  if (!response.ok) throw failure(response, answer)
  if (answer === undefined) throw new Away(words.other)
  return { answer: answer as T, response }
}

/** Squeezes JSON if that is worth it and this browser can. */
export function pack(json: string): Packed {
  return json.length > WORTH_SQUEEZING && typeof CompressionStream === 'function' ? squeeze(json) : json
}

function joined(parts: ArrayBuffer[]): ArrayBuffer {
  const all = new Uint8Array(parts.reduce((bytes, part) => bytes + part.byteLength, 0))
  let at = 0
  for (const part of parts) {
    all.set(new Uint8Array(part), at)
    at += part.byteLength
  }
  return all.buffer
}

function squeeze(text: string): Promise<ArrayBuffer> {
  const stream = new Response(text).body!.pipeThrough(new CompressionStream('gzip'))
  return new Response(stream).arrayBuffer()
}

function parse(text: string): unknown {
  if (text === '') return null
  try {
    return JSON.parse(text)
  } catch {
    return undefined // a captive portal's page, or an answer cut off
  }
}

/** Worth another try: 408, 429, every 5xx, and what only a server that is not ours would say. */
function failure(response: Response, answer: unknown): Away | Refusal {
  const { status } = response
  if (status === 408 || status === 429 || status >= 500) {
    const seconds = Number(response.headers.get('Retry-After') ?? 0)
    return new Away(
      status === 429 ? words.tooMany : words.answered(status),
      Number.isFinite(seconds) ? seconds * 1000 : 0,
      false,
      status,
    )
  }
  if (answer === undefined || answer === null || typeof answer !== 'object') {
    if (status !== 401) return new Away(words.otherWith(status))
  }
  const { message, sentence } = (answer ?? {}) as { message?: string; sentence?: string }
  return new Refusal(sentence || message || words.refused(status), status)
}
