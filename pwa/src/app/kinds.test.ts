import { describe, expect, it } from 'vitest'
import seeds from '../generated/seeds.json'
import type { Kind } from '../types'
import { isOwn, slugFor, valuesOf } from './kinds'

const shipped = seeds.kinds as unknown as Kind[]
const vulgare = shipped.find((kind) => kind.slug === 'armadillidium-vulgare')!

describe('the values of a kind', () => {
  it('are all there, each with its source', () => {
    for (const kind of shipped)
      for (const value of valuesOf(kind, 'metric')) {
        expect(value.label, `${kind.slug} ${value.name}`).toBeTruthy()
        expect(value.text, `${kind.slug} ${value.name}`).not.toMatch(/undefined|NaN|not known/)
        expect(value.source, `${kind.slug} ${value.name}`).not.toBe('')
        if (value.spread) expect(value.spread[0]).toBeLessThanOrEqual(value.spread[1])
      }
  })

  it('are in the measures of the household', () => {
    const text = (units: 'metric' | 'us') =>
      valuesOf(vulgare, units).find((value) => value.name === 'temperature')?.text
    expect(text('metric')).toBe('16 to 27 °C')
    expect(text('us')).toBe('61 to 81 °F')
  })

  it('are the keeper’s own where they differ from what ships', () => {
    const edited = { ...vulgare, temperature_max_c: 24 }
    const own = valuesOf(edited, 'metric').filter((value) => isOwn(edited, vulgare, value))
    expect(own.map((value) => value.name)).toEqual(['temperature'])
    expect(valuesOf(vulgare, 'metric').some((value) => isOwn(vulgare, vulgare, value))).toBe(false)
    expect(valuesOf(edited, 'metric').some((value) => isOwn(edited, undefined, value))).toBe(false)
  })
})

describe('the slug of an own kind', () => {
  it.each([
    ['Cubaris “attic”', 'cubaris-attic'],
    ['Armadillidium vulgare', 'armadillidium-vulgare-2'],
    ['等足目', 'kind'],
    ['Ä'.repeat(100), 'a'.repeat(50)],
  ])('%s: %s', (name, slug) => expect(slugFor(name, shipped)).toBe(slug))
})
