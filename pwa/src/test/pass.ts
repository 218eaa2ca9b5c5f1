/** A view of a pass, as a server would give it, for the tests. */
import type { PassBin, PassStop, PassView } from '../sync/passes'

export const LEFT = { dry: 30, barely: 20, damp: 0, soaked: 0 }

export function passStop(bin: string, more: PassStop['steps'] = []): PassStop {
  return { bin, closed: false, steps: [{ do: 'feel', end: 'left', dose_if_ml: LEFT }, ...more] }
}

export function passBin(id: string, position: number): PassBin {
  const level = { mean: 0.5, low: 0.4, high: 0.6 }
  return {
    id,
    name: `Bin ${id}`,
    place: `W1-${position}`,
    rack: 'West',
    shelf: 1,
    position,
    length_mm: 340,
    width_mm: 200,
    height_mm: 120,
    substrate_depth_mm: 50,
    damp_end: 'left',
    damp_share: 0.5,
    openings: [],
    lid_gap_mm: 0.5,
    springtails: true,
    glance: { damp: level, leaves: level, fresh: level, dry: 0.1, food: null },
    photo: '',
  }
}

export function passView(change: Partial<PassView> = {}): PassView {
  const visit = (date: string, stops: PassStop[]) => ({
    date,
    from: `${date}T09:00:00Z`,
    to: `${date}T20:00:00Z`,
    stops,
  })
  return {
    version: 1,
    at: '2026-03-01T12:00:00Z',
    epoch: 'e1',
    rehearsal: false,
    sitter: 'Mo',
    person: 's'.repeat(32),
    time_zone: 'UTC',
    units: 'metric',
    leaves: '2026-03-02',
    returns: '2026-03-14',
    from: '2026-03-02T00:00:00Z',
    until: '2026-03-16T00:00:00Z',
    call: 'Ada, 0123 456789',
    visits: [
      visit('2026-03-05', [
        passStop('b1', [{ do: 'feed', food: 'carrot', pieces: 1, side: 'dry' }]),
        passStop('b2'),
      ]),
      visit('2026-03-09', [passStop('b2')]),
    ],
    bins: [passBin('b1', 1), passBin('b2', 2)],
    shut: [],
    foods: { carrot: 'Carrot' },
    ...change,
  }
}
