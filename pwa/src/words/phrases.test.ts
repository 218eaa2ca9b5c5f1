import { describe as group, expect, it } from 'vitest'
import { mustBin, mustChore, mustGlance, level } from '../test/records'
import { foods } from '../data/seeds'
import type { Entry } from '../types'
import { describe } from './describe'
import { odds, round } from './en'
import { age, coming, handfuls, past, place, reasonOf, sayEntry, span, type Setting } from './phrases'
import { addMonths, dayOf, daysBetween } from './when'

// A Sunday evening in Berlin.
const berlin: Setting = {
  now: new Date('2026-03-01T19:00:00+01:00'),
  zone: 'Europe/Berlin',
  units: 'metric',
  locale: 'en-GB',
}
const newYork: Setting = { ...berlin, zone: 'America/New_York', units: 'us', locale: 'en-US' }
const at = (text: string) => new Date(text)
/** Spaces that do not break are spaces all the same. */
const plain = (text: string) => text.replaceAll('\u00a0', ' ')

it.each([
  ['Window rack', 2, 3, 'W2-3'],
  [' äußeres', 1, 1, 'Ä1-1'],
  ['3rd', 4, 12, '34-12'],
  ['', 1, 1, '?1-1'],
])('the place of %s', (rack, shelf, position, code) => expect(place({ rack, shelf, position })).toBe(code))

group('chances', () => {
  it.each([
    [0, 'hardly any chance'],
    [0.02, 'hardly any chance'],
    [Number.NaN, 'hardly any chance'],
    [0.05, '1 in 20'],
    [0.17, '1 in 6'],
    [0.25, '1 in 4'],
    [0.5, '1 in 2'],
    [0.66, '2 in 3'],
    [0.7, '7 in 10'],
    [0.95, '19 in 20'],
    [0.99, 'almost certainly'],
  ])('%f', (p, words) => expect(plain(odds.chance(p))).toBe(words))

  it('are never further off than six in a hundred', () => {
    for (let p = 0.03; p <= 0.97; p += 0.001) {
      const [times, of] = plain(odds.chance(p)).split(' in ').map(Number)
      expect(Math.abs(times! / of! - p), `${p}`).toBeLessThan(0.06)
    }
  })
})

group('when', () => {
  it.each([
    ['2026-03-01T18:00:00+01:00', 'now'],
    ['2026-03-01T21:00:00+01:00', 'this evening'],
    ['2026-03-01T23:30:00+01:00', 'tonight'],
    ['2026-03-02T12:00:00+01:00', 'tomorrow noon'],
    ['2026-03-02T00:30:00+01:00', 'tomorrow night'],
    ['2026-03-06T09:00:00+01:00', 'Friday morning'],
    ['2026-03-12T09:00:00+01:00', 'Thu 12 Mar'],
  ])('%s is %s', (instant, words) => expect(coming(at(instant), berlin).replace(',', '')).toBe(words))

  it.each([
    ['2026-03-01T18:59:30+01:00', 'just now'],
    ['2026-03-01T08:05:00+01:00', '8:05'],
    ['2026-02-28T19:05:00+01:00', 'yesterday 19:05'],
    ['2026-02-26T19:05:00+01:00', 'Thursday'],
    ['2025-12-24T19:05:00+01:00', 'Wed 24 Dec 2025'],
  ])('%s was %s', (instant, words) => expect(past(at(instant), berlin).replace(',', '')).toBe(words))

  it('the household has its own midnight, not the reader', () => {
    // 02:30 in Berlin on the 2nd is still the evening of the 1st in New York.
    const instant = at('2026-03-02T02:30:00+01:00')
    expect(coming(instant, berlin)).toBe('tomorrow night')
    expect(coming(instant, newYork)).toBe('this evening')
    expect(dayOf(instant, newYork.zone)).toBe('2026-03-01')
  })

  it('a clock has twelve hours where the reader has', () => {
    expect(
      past(at('2026-02-28T19:05:00-05:00'), { ...newYork, now: at('2026-03-01T19:00:00-05:00') }).replace(
        '\u202f',
        ' ',
      ),
    ).toBe('yesterday 7:05 PM')
  })

  it('days are counted over the change of clocks', () => {
    expect(daysBetween('2026-03-28', '2026-03-30')).toBe(2)
    expect(coming(at('2026-03-30T09:00:00+02:00'), { ...berlin, now: at('2026-03-28T19:00:00+01:00') })).toBe(
      'Monday morning',
    )
  })

  it.each([
    ['2026-01-31', 1, '2026-02-28'],
    ['2025-11-30', 3, '2026-02-28'],
    ['2026-03-14', 6, '2026-09-14'],
  ])('%s and %d months', (day, months, result) => expect(addMonths(day, months)).toBe(result))

  it('spans and ages', () => {
    expect(span(at('2026-02-28T20:00:00+01:00'), berlin.now)).toBe('23\u00a0h')
    expect(span(at('2026-02-25T20:00:00+01:00'), berlin.now)).toBe('4 days')
    expect(span(berlin.now, berlin.now)).toBe('1\u00a0min')
    expect(age('2026-03-01', berlin)).toBe('less than a day')
    expect(age('2026-02-28', berlin)).toBe('1 day')
    expect(age('2025-09-01', berlin)).toBe('6 months')
  })

  it('a zone that this browser does not know is read as UTC', () => {
    expect(dayOf(at('2026-03-01T23:30:00Z'), 'Mars/Olympus')).toBe('2026-03-01')
  })
})

group('reasons', () => {
  const melon = {
    of: 'f',
    food: 'melon',
    since: '2026-02-28T20:00:00+01:00',
    pieces: 1,
    gone: 0.3,
    mouldy: 0.17,
  }
  const cases = [
    {
      name: 'dry already',
      chore: mustChore({ bin: 'a' }),
      glance: mustGlance({ bin: 'a', dry: 0.5 }),
      says: 'Damp side dry by now: 1 in 2',
    },
    {
      name: 'dry by',
      chore: mustChore({
        bin: 'a',
        due: '2026-03-02T12:00:00+01:00',
        forecast: [{ at: '2026-03-02T12:00:00+01:00', dry: 0.3 }],
      }),
      glance: mustGlance({ bin: 'a', dry: 0.02 }),
      says: 'Dry by tomorrow noon: 3 in 10',
    },
    {
      name: 'melon',
      chore: mustChore({ bin: 'a', chore: 'leftovers', of: 'f' }),
      glance: mustGlance({ bin: 'a', food: [melon] }),
      says: 'Melon for 23 h, 1 in 6 mouldy by now',
    },
    {
      name: 'a feeding the forecast forgot',
      chore: mustChore({ bin: 'a', chore: 'leftovers', of: 'gone' }),
      glance: mustGlance({ bin: 'a', food: null }),
      says: 'Food was put in about a day ago',
    },
    {
      name: 'leaves',
      chore: mustChore({ bin: 'a', chore: 'leaves', odds: 0.4 }),
      glance: undefined,
      says: 'Leaves bare by now: 2 in 5',
    },
    {
      name: 'renew',
      chore: mustChore({ bin: 'a', chore: 'renew' }),
      glance: mustGlance({ bin: 'a', renewed: '2025-09-01' }),
      says: 'Substrate 6 months old',
    },
    {
      name: 'look',
      chore: mustChore({ bin: 'a', chore: 'look' }),
      glance: mustGlance({ bin: 'a', last_opened: '2026-02-22T19:00:00+01:00' }),
      says: 'Not opened for 7 days',
    },
    {
      name: 'never felt, whatever the odds',
      chore: mustChore({ bin: 'a', odds: 0.9, why: { code: 'never felt' } }),
      glance: mustGlance({ bin: 'a', dry: 0.9 }),
      says: 'Never felt yet: a reading starts its forecast',
    },
    {
      name: 'dry by, as the engine names it',
      chore: mustChore({ bin: 'a', why: { code: 'dry', at: '2026-03-02T12:00:00+01:00', odds: 0.15 } }),
      glance: mustGlance({ bin: 'a', dry: 0.02 }),
      says: 'Dry by tomorrow noon: 1 in 6',
    },
    {
      name: 'fed',
      chore: mustChore({
        bin: 'a',
        chore: 'feed',
        why: { code: 'fed', at: '2026-02-25T19:00:00+01:00', food: 'melon' },
      }),
      glance: undefined,
      says: 'Last fed 4 days ago: melon',
    },
    {
      name: 'never fed',
      chore: mustChore({ bin: 'a', chore: 'feed', why: { code: 'never fed' } }),
      glance: undefined,
      says: 'Nothing fed yet',
    },
    {
      name: 'mould that was left in',
      chore: mustChore({
        bin: 'a',
        chore: 'leftovers',
        of: 'f',
        why: { code: 'mould left', at: '2026-03-01T14:00:00+01:00', word: 'specks', food: 'melon' },
      }),
      glance: mustGlance({ bin: 'a', food: [melon] }),
      says: 'Melon left in with mould (specks) 5 h ago',
    },
    {
      name: 'frass',
      chore: mustChore({ bin: 'a', chore: 'renew', odds: 0.5, why: { code: 'frass', odds: 0.5 } }),
      glance: mustGlance({ bin: 'a', renewed: '2025-09-01' }),
      says: 'Substrate 6 months old, mostly frass: 1 in 2',
    },
    {
      name: 'leaves put in lately',
      chore: mustChore({
        bin: 'a',
        chore: 'leaves',
        odds: 0.01,
        why: { code: 'leaves', at: '2026-02-25T19:00:00+01:00' },
      }),
      glance: undefined,
      says: 'Leaves added 4 days ago',
    },
  ] as const
  it.each(cases)('$name', ({ chore, glance, says }) =>
    expect(plain(reasonOf(chore, glance, foods, berlin))).toBe(says),
  )
})

group('entries', () => {
  const base = { id: 'e', at: '2026-03-01T18:00:00Z', bin: 'a' }
  const cases: [Partial<Entry> & { what: Entry['what'] }, string][] = [
    [{ what: 'feel', feel: 'barely' }, 'Damp side feels barely'],
    [{ what: 'water', water_ml: 37 }, 'Watered, 37\u00a0mL'],
    [
      { what: 'feed', food: 'fish flakes', pieces: 2, side: 'dry' },
      'Fed fish flakes, 2 pieces, on the dry side',
    ],
    [
      { what: 'leftovers', of: 'f', left: 'some left', mould: 'specks', removed: true },
      'Melon: some left, mould: specks, taken out',
    ],
    [{ what: 'leftovers', of: 'f', left: 'all gone', mould: 'none' }, 'Melon: all gone'],
    [{ what: 'add leaves', handfuls: 1.5, batch: 'oak 7' }, 'Added 1½ handfuls of leaves (oak 7)'],
    [{ what: 'climate', temperature_c: 20.4, humidity_pct: 47 }, 'Air: 20.4\u00a0°C, 47\u00a0%'],
    [{ what: 'note', note: 'Mancae!' }, 'Mancae!'],
  ]
  it.each(cases)('%j', (entry, says) =>
    expect(sayEntry({ ...base, ...entry }, foods, berlin, 'melon')).toBe(says),
  )
})

it.each([
  [0.25, '¼ handful'],
  [1, '1 handful'],
  [2.5, '2½ handfuls'],
])('%f handfuls', (n, written) => expect(handfuls(n)).toBe(written))

it('the headline', () => {
  expect(round.headline(7, 24, 9)).toBe('7 bins want you, 24 are fine. About 9 minutes.')
  expect(round.headline(1, 1, 1)).toBe('1 bin wants you, 1 is fine. About a minute.')
  expect(round.headline(200, 0, 165)).toBe('200 bins want you. About 3 hours.')
  expect(round.headline(3, 0, 4)).toBe('3 bins want you. About 4 minutes.')
})

it('a drawing says in words what it shows', () => {
  const glance = mustGlance({
    bin: 'a',
    damp: { mean: 0.8, low: 0.6, high: 1 },
    leaves: level(0.1),
    fresh: level(0.2),
    dry: 0.05,
  })
  expect(plain(describe(mustBin({ id: 'a', damp_end: 'right' }), glance, berlin.now))).toBe(
    'Damp from the right, over 30 to 50 % of the floor; the damp side dry already: 1 in 20. Bare of leaves, substrate mostly frass. No food lying. 1 cut-out with mesh in the lid and springtails.',
  )
  expect(describe(mustBin({ id: 'a', openings: [], springtails: false }), null, berlin.now)).toBe(
    'No forecast yet. No vents but the gap of the lid.',
  )
})
