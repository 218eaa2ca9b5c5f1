/** Records for the tests of the screens' helpers. */
import { limits } from '../data/limits'
import type { Bin, Chore, Glance, Level } from '../types'

export function mustBin(fields: Partial<Bin> & { id: string }): Bin {
  return {
    ...structuredClone(limits.tub),
    name: fields.id,
    rack: 'Window',
    shelf: 1,
    position: 1,
    kind: 'cubaris',
    ...fields,
  }
}

export function mustChore(fields: Partial<Chore> & { bin: string }): Chore {
  return {
    chore: 'feel',
    opens: '2026-03-01T12:00:00Z',
    due: '2026-03-01T18:00:00Z',
    closes: '2026-03-03T18:00:00Z',
    odds: 0.1,
    ...fields,
  }
}

export function level(mean: number, wide = 0.1): Level {
  return { mean, low: Math.max(0, mean - wide), high: mean + wide }
}

export function mustGlance(fields: Partial<Glance> & { bin: string }): Glance {
  return {
    damp: level(0.6),
    leaves: level(0.6),
    fresh: level(0.6),
    dry: 0.05,
    risk: 0.01,
    food: [],
    last_watered: null,
    last_water_ml: 0,
    last_opened: null,
    renewed: '',
    ...fields,
  }
}
