import { expect, test } from 'vitest'
import { mustBin } from '../test/records'
import type { Away, AwayStop, Trip } from '../types'
import { inSpoons, visitSheet } from './visitSheet'

const bins = [
  mustBin({ id: 'c', name: 'Shut', rack: 'West', shelf: 1, position: 2 }),
  mustBin({ id: 'b', name: 'Striped', rack: 'West', shelf: 2, position: 1, damp_end: 'back' }),
  mustBin({ id: 'a', name: 'Slate', rack: 'West', shelf: 1, position: 1, damp_end: 'left' }),
  mustBin({ id: 'd', name: 'Elsewhere', rack: 'East', shelf: 1, position: 1 }),
]
const stop = (bin: string, fields: Partial<AwayStop> = {}): AwayStop => ({
  bin,
  end: bin === 'b' ? 'back' : 'left',
  dose_ml: 45,
  dose_if_ml: { dry: 90, barely: 90, damp: 0, soaked: 0 },
  food: '',
  closed: false,
  harm: 0,
  ...fields,
})
const found: Away = {
  stage: 'before',
  set_up_at: '2026-12-08T18:00:00+01:00',
  days: [],
  done: [],
  odd: [],
  use_up: [],
  bins: [],
  visits: [
    {
      day: 3,
      date: '2026-12-12',
      from: '2026-12-12T09:00:00+01:00',
      to: '2026-12-12T20:00:00+01:00',
      stops: [stop('a'), stop('b', { food: 'carrot', closed: true })],
    },
    {
      day: 6,
      date: '2026-12-15',
      from: '2026-12-15T09:00:00+01:00',
      to: '2026-12-15T20:00:00+01:00',
      stops: [stop('b')],
    },
  ],
  nobody: { visits: 0, lids: 0, harmed: 0, worst: 0, tolerance: 0 },
  plan: { visits: 2, lids: 3, harmed: 0, worst: 0, tolerance: 0 },
  trades: [],
  cases: [],
  foods: { springtails: { slug: '', mouldy: 0 }, none: { slug: '', mouldy: 0 } },
}
const trip: Trip = {
  id: 't',
  name: 'Winter',
  leaves: '2026-12-09',
  returns: '2026-12-21',
  from_hour: 9,
  to_hour: 20,
  sitter: 'Next door',
  call: ' 030 000 ',
  note: 'The key is\n\nunder the moss.',
}
const wish = {
  trip,
  found,
  bins,
  foods: [],
  setting: {
    now: new Date('2026-12-01T12:00:00Z'),
    zone: 'Europe/Berlin',
    units: 'us' as const,
    locale: 'en-GB',
  },
  paper: 'a4' as const,
  link: '',
}

test('bins that are opened have numbers in walking order, others stay shut', () => {
  const sheet = visitSheet(wish)
  expect(sheet.map.racks).toEqual([
    {
      name: 'West',
      shelves: [
        { name: 'Shelf 1', bins: [1, 0] },
        { name: 'Shelf 2', bins: [2] },
      ],
    },
  ])
  expect(sheet.bins.each.map((bin) => [bin.number, bin.title])).toEqual([
    [1, 'W1-1 Slate'],
    [2, 'W2-1 Striped'],
  ])
  expect(JSON.stringify(sheet)).not.toContain('Elsewhere')
})

test('a visit says of each bin which end, how much and what food', () => {
  const { visits } = visitSheet(wish)
  const titles = visits.days.map((one) => one.title.replace(/^(\w+),/, '$1').replace(/ 0(\d:)/, ' $1')) // as this machine writes days
  expect(titles).toEqual(['Sat 12 Dec, 9:00 to 20:00', 'Tue 15 Dec, 9:00 to 20:00'])
  expect(visits.days[0]!.stops[1]).toEqual({
    number: 2,
    title: 'W2-1 Striped',
    do:
      'Feel the back. Dry or barely damp: 90\u00a0mL (6\u00a0tablespoons), slowly, at that end. ' +
      'Damp or soaked: nothing to do. Put in one piece of carrot.',
    found: ['Found:', 'dry', 'barely damp', 'damp', 'soaked'],
  })
})

test('the drawing has the damp at the end where it is', () => {
  const [left, back] = visitSheet(wish).bins.each
  expect([left!.drawing.left, left!.drawing.right]).toEqual(['left: damp', 'right'])
  expect([back!.drawing.left, back!.drawing.right]).toEqual(['front', 'back: damp'])
  const from = (drawing: { layers: { path: string; fill?: number }[] }) =>
    Number(/^M([\d.]+)/.exec(drawing.layers.find((layer) => layer.fill === 0.78)!.path)![1])
  expect(from(left!.drawing)).toBeLessThan(60)
  expect(from(back!.drawing)).toBeGreaterThan(60)
  expect(back!.dont).toHaveLength(2)
})

test('whom to call and what the owner wrote is on the first page', () => {
  const sheet = visitSheet(wish)
  expect(sheet.call.lines).toEqual(['030 000'])
  expect(sheet.notes[0]).toEqual({ title: 'From the owner', lines: ['The key is', 'under the moss.'] })
  expect(visitSheet({ ...wish, trip: { ...trip, call: '', note: 'x'.repeat(700) } })).toMatchObject({
    call: { lines: [] },
    notes: [{ lines: ['x'.repeat(300), 'x'.repeat(300), 'x'.repeat(100)] }, {}, {}],
  })
})

test('nothing is said to be done with damp bins where one of them gets water', () => {
  const lines = (sheet: ReturnType<typeof visitSheet>) => sheet.notes.flatMap((note) => note.lines).join(' ')
  expect(lines(visitSheet(wish))).toContain('Damp already? Then there is nothing to do.')
  const thirsty = stop('a', { dose_if_ml: { dry: 90, barely: 90, damp: 45, soaked: 0 } })
  const visits = [{ ...found.visits[0]!, stops: [thirsty] }]
  expect(lines(visitSheet({ ...wish, found: { ...found, visits } }))).not.toContain('Damp already?')
})

test('doses are in what the household measures with first', () => {
  expect(inSpoons(45, 'us')).toBe('3\u00a0tablespoons (45\u00a0mL)')
  expect(inSpoons(45, 'metric')).toBe('45\u00a0mL (3\u00a0tablespoons)')
})
