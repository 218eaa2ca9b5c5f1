import { vi } from 'vitest'
import { nameOf } from '../data/picture'

type Fault = 'request lost' | 'answer lost' | 'changed on the way' | number

/** The server's side of photos in memory, after the contract, with faults to order. */
export class FakePhotoServer {
  arriving = new Map<string, Uint8Array<ArrayBuffer>>()
  whole = new Map<string, Uint8Array<ArrayBuffer>>()
  named = new Set<string>()
  faults: Fault[] = []
  asked: string[] = []
  full = false

  install(): void {
    vi.stubGlobal('fetch', (path: string, init: RequestInit) => this.fetch(path, init))
  }

  private async fetch(path: string, init: RequestInit): Promise<Response> {
    const name = path.split('/').at(-1)!.split('?')[0]!
    const method = init.method ?? 'GET'
    const headers = init.headers as Record<string, string>
    this.asked.push(`${method} ${headers['Upload-Offset'] ?? ''}`.trim())
    const fault = this.faults.shift()
    if (fault === 'request lost') throw new TypeError('Failed to fetch')
    if (typeof fault === 'number') return say(fault, `status ${fault}`)
    const answer = await this.answer(method, name, headers, init.body as Uint8Array<ArrayBuffer>, fault)
    if (fault === 'answer lost') throw new TypeError('Failed to fetch')
    return answer
  }

  private async answer(
    method: string,
    name: string,
    headers: Record<string, string>,
    body: Uint8Array<ArrayBuffer>,
    fault?: Fault,
  ): Promise<Response> {
    if (!this.named.has(name)) return say(404, 'No entry names this photo.')
    const whole = this.whole.get(name)
    if (method === 'GET') {
      return whole
        ? new Response(whole, { headers: { 'Content-Type': 'image/jpeg' } })
        : say(404, 'not come yet')
    }
    if (whole) return standing(method === 'HEAD' ? 200 : 204, whole.length, true)
    const here = this.arriving.get(name) ?? new Uint8Array()
    if (method === 'HEAD') return standing(200, here.length, false)
    if (Number(headers['Upload-Offset']) !== here.length) return standing(409, here.length, false)
    if (this.full) return say(507, "The room's photos fill the room that there is.")
    const piece = body.slice()
    if (fault === 'changed on the way') piece[0]! ^= 1
    const together = new Uint8Array([...here, ...piece])
    this.arriving.set(name, together)
    if (together.length < Number(headers['Upload-Length'])) return standing(204, together.length, false)
    this.arriving.delete(name)
    if ((await nameOf(together)) !== name) return say(422, 'It is not the photo.', { 'Upload-Offset': '0' })
    this.whole.set(name, together)
    return standing(204, together.length, true)
  }
}

function standing(status: number, offset: number, whole: boolean): Response {
  const headers = { 'Upload-Offset': String(offset), 'Upload-Complete': whole ? '?1' : '?0' }
  return new Response(null, { status, headers })
}

function say(status: number, message: string, headers: Record<string, string> = {}): Response {
  return Response.json({ status, message }, { status, headers })
}
