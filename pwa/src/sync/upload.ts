import { Away } from './server'
import { line as words } from '../words/en.line'

const TIMEOUT_MS = 60_000 // of one piece: 64 kB over a very thin line

/** What the server says about one photo. */
export interface Standing {
  status: number
  offset: number
  whole: boolean
  sentence: string
}

/** The server does not know whoever asks. */
export class SignedOut extends Error {}

/** Asks how far a photo has come, or brings its next piece. Throws Away or SignedOut. */
export async function askAbout(
  route: string,
  authorization: string,
  method: 'HEAD' | 'PATCH',
  name: string,
  part?: { from: number; length: number; piece: Uint8Array<ArrayBuffer> },
): Promise<Standing> {
  let response: Response
  let text: string
  try {
    response = await fetch(`${route}/${name}`, {
      method,
      headers: {
        Authorization: authorization,
        ...(part && {
          'Content-Type': 'application/octet-stream',
          'Upload-Offset': String(part.from),
          'Upload-Length': String(part.length),
        }),
      },
      body: part?.piece ?? null,
      signal: AbortSignal.timeout(TIMEOUT_MS),
      cache: 'no-store',
    })
    text = await response.text()
  } catch {
    throw new Away(words.away)
  }
  const { status, headers } = response
  if (status === 401 || status === 403) throw new SignedOut()
  if (status === 408 || status === 429 || (status >= 500 && status !== 507))
    throw new Away(
      status === 429 ? words.tooMany : words.answered(status),
      1000 * (Number(headers.get('Retry-After')) || 0),
    )
  const offset = Number(headers.get('Upload-Offset') ?? NaN)
  if (status < 300 || status === 409) {
    if (!Number.isInteger(offset) || offset < 0) throw new Away(words.other)
  }
  return {
    status,
    offset: Number.isInteger(offset) ? offset : 0,
    whole: status < 300 && headers.get('Upload-Complete') === '?1',
    sentence: sentenceOf(text) || words.refused(status),
  }
}

function sentenceOf(text: string): string {
  try {
    return (JSON.parse(text) as { message?: string }).message ?? ''
  } catch {
    return ''
  }
}
