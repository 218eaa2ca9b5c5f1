import { expect, it } from 'vitest'
import type { Entry } from '../types'
import { unseen } from './visits'

const sitters = new Set(['kim'])
let n = 0
const made = (hour: number, entry: Partial<Entry>) =>
  ({ id: `e${n++}`, at: `2026-05-28T${String(hour).padStart(2, '0')}:00:00Z`, ...entry }) as Entry
const report = made(10, { what: 'note', by: 'kim', bin: 'b', note: 'smells sour' })
const ofRoom = made(10, { what: 'note', by: 'kim', note: 'the lamp is out' })

it.each<[string, Entry, boolean]>([
  ['the household at that bin, later', made(11, { what: 'feel', by: 'ada', bin: 'b', feel: 'damp' }), false],
  ['an entry that is not sent yet', made(11, { what: 'look', bin: 'b' }), false],
  ['the household at that bin, before', made(9, { what: 'feel', by: 'ada', bin: 'b', feel: 'damp' }), true],
  ['the sitter', made(11, { what: 'feel', by: 'kim', bin: 'b', feel: 'damp' }), true],
  ['the household at another bin', made(11, { what: 'look', by: 'ada', bin: 'c' }), true],
  ['a strike', made(11, { what: 'strike', by: 'ada', bin: 'b' }), true],
])('what stands after %s', (_, entry, stands) => {
  expect(unseen([report, entry], sitters)).toEqual(stands ? [report] : [])
})

it('what is wrong with the room is seen to by a note of the room alone', () => {
  expect(unseen([ofRoom, made(11, { what: 'note', by: 'ada', bin: 'b', note: 'x' })], sitters)).toEqual([
    ofRoom,
  ])
  expect(unseen([ofRoom, made(11, { what: 'climate', by: 'ada' })], sitters)).toEqual([ofRoom])
  expect(unseen([ofRoom, made(11, { what: 'note', by: 'ada', note: 'new bulb' })], sitters)).toEqual([])
})
