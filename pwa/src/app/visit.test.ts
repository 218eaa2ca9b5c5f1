import { describe, expect, it } from 'vitest'
import type { WalkRow } from '../data/sitter'
import { passView } from '../test/pass'
import { beginWalk, goOn, instruction, skip, stageOf } from './visit'

const view = passView()
const at = (text: string) => new Date(text)
const now = at('2026-03-05T10:00:00Z')
const begun = () => beginWalk('secret', view.visits[0]!, now)
const does = (walk: WalkRow) => instruction(walk.stops[walk.at.stop]!, walk.at, walk.taken)

describe('what the page is about', () => {
  const done = (date: string): WalkRow => ({ ...begun(), date, doneAt: `${date}T11:00:00Z` })

  it.each([
    ['before the trip', '2026-03-01T12:00:00Z', [], { at: 'ahead', days: 4 }],
    ['on the day', '2026-03-05T23:30:00Z', [], { at: 'today', days: 0 }],
    ['a day late', '2026-03-06T08:00:00Z', [], { at: 'missed', days: -1 }],
    ['between', '2026-03-05T12:00:00Z', [done('2026-03-05')], { at: 'ahead', days: 4 }],
    ['after the last', '2026-03-10T12:00:00Z', [done('2026-03-05'), done('2026-03-09')], { at: 'none' }],
    [
      'on the day of coming back',
      '2026-03-14T12:00:00Z',
      [done('2026-03-05'), done('2026-03-09')],
      { at: 'none' },
    ],
    ['after the return', '2026-03-15T00:30:00Z', [], { at: 'after' }],
  ])('%s', (_, time, walks, stage) => expect(stageOf(view, walks, at(time))).toMatchObject(stage))

  it('is the visit that has begun, even if another plan is here by now', () => {
    const walk = goOn(begun(), 'found', now)
    const replanned = passView({ visits: [] })
    expect(stageOf(replanned, [walk], at('2026-03-06T10:00:00Z'))).toEqual({ at: 'begun', walk })
  })

  it('goes by the days of the room, wherever the phone is', () => {
    const far = passView({ time_zone: 'Pacific/Auckland' })
    expect(stageOf(far, [], at('2026-03-04T12:00:00Z'))).toMatchObject({ at: 'today' })
  })
})

describe('a visit', () => {
  it('goes from finding the box to shutting it, by what was felt', () => {
    let walk = begun()
    expect(does(walk)).toEqual({ do: 'find' })
    walk = goOn(walk, 'found', now)
    expect(does(walk)).toMatchObject({ do: 'feel', end: 'left' })
    walk = goOn(walk, 'barely', now, 'barely')
    expect(does(walk)).toEqual({ do: 'pour', end: 'left', ml: 20 })
    walk = goOn(walk, 'gave', now)
    expect(does(walk)).toMatchObject({ do: 'feed', food: 'carrot' })
    walk = goOn(walk, 'fed', now)
    expect(does(walk)).toEqual({ do: 'shut' })
    walk = goOn(walk, 'shut', now)
    expect(walk.at).toEqual({ stop: 1, step: 'find' })
    walk = goOn(walk, 'found', now)
    walk = goOn(walk, 'damp', now, 'damp')
    expect(does(walk)).toEqual({ do: 'fine', felt: 'damp' })
    walk = goOn(goOn(walk, 'fine', now), 'shut', now)
    expect(walk.doneAt).not.toBe('')
  })

  it('goes on at the next box where one is left', () => {
    const walk = skip(goOn(begun(), 'found', now), 'left', now)
    expect(walk.at).toEqual({ stop: 1, step: 'find' })
    expect(walk.skipped).toEqual(['b1'])
    expect(skip(walk, 'left', now).doneAt).not.toBe('')
  })
})
