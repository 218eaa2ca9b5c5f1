import { expect, it, vi } from 'vitest'
import type { Bin } from '../types'

vi.stubGlobal('location', { hash: '' })
const { codeOf, readCode } = await import('./scan')

const bin = { id: '0197c0ffee', name: 'Pied', rack: 'West', shelf: 2, position: 3, kind: '', line: '' } as Bin

it('reads what it writes, also after the server has moved', () => {
  expect(readCode(codeOf(bin.id, 'http://localhost:8090'), [bin])).toEqual({ bin })
  expect(readCode(codeOf(bin.id, 'https://elsewhere.example'), [bin])).toEqual({ bin })
})

it.each(['W2-3', 'w23', 'https://x.example/#/bin/0197c0ffee', 'https://x.example/#/stop/0197c0ffee?of=1'])(
  'takes %s for the bin',
  (text) => expect(readCode(text, [bin])).toEqual({ bin }),
)

it.each([
  ['https://x.example/#/b/0197', 'bin'],
  ['https://x.example/', 'other'],
  ['https://x.example/#/rack', 'other'],
  ['W2-4', 'other'],
  ['', 'other'],
  ['#/b/%', 'bin'],
])('knows %s for none of this room', (text, unknown) => expect(readCode(text, [bin])).toEqual({ unknown }))
