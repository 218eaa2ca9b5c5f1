import { afterEach, expect, it, vi } from 'vitest'
import { print } from './paper'
import { call } from './server'

const answered = (status: number, body: object) =>
  vi.stubGlobal('fetch', async () => new Response(JSON.stringify(body), { status }))
afterEach(() => vi.unstubAllGlobals())

it('whoever asked too often reads what to do, whatever the server says to it', async () => {
  answered(429, { message: 'Too Many Requests.' })
  const sentence = 'Too many tries in a short time. Wait a minute, then try again.'
  await expect(call('/any', { token: null })).rejects.toThrow(sentence)
  await expect(print('labels', {})).rejects.toThrow(sentence)
})

it('any other refusal is the server’s own sentence', async () => {
  answered(400, { message: 'The name is missing.' })
  await expect(call('/any', { token: null })).rejects.toThrow('The name is missing.')
})
