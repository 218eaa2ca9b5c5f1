/** The values of a kind, as a page and a form show them. Pure. */
import type { Kind } from '../types'
import { values, worded, kinds as words } from '../words/en.kinds'
import { fromCelsius, temperatureUnit, type Units } from '../words/units'

/** One value of a profile: what it says, over which scale it spreads, and where it comes from. */
export interface Value {
  name: string
  label: string
  text: string
  source: string
  /** Its ends as shares of its scale; none for words. */
  spread?: [number, number]
  /** The fields behind it. */
  fields: (keyof Kind)[]
}

const RANGES = {
  temperature: { fields: ['temperature_min_c', 'temperature_max_c'], scale: [5, 35], unit: '°C' },
  brood: { fields: ['brood_min', 'brood_max'], scale: [0, 120], unit: '' },
  brood_days: { fields: ['brood_days_min', 'brood_days_max'], scale: [0, 60], unit: 'days' },
  maturity: { fields: ['maturity_min_months', 'maturity_max_months'], scale: [0, 18], unit: 'months' },
} as const

function ranged(kind: Kind, name: keyof typeof RANGES, units: Units): Pick<Value, 'text' | 'spread'> {
  const { fields, scale, unit } = RANGES[name]
  const [low, high] = [kind[fields[0]] ?? 0, kind[fields[1]] ?? 0]
  if (high === 0) return { text: words.unknown }
  const isHeat = unit === '°C'
  const show = (x: number) => String(isHeat ? Math.round(fromCelsius(x, units)) : x)
  const share = (x: number) => Math.min(1, Math.max(0, (x - scale[0]) / (scale[1] - scale[0])))
  return {
    text: worded.range(show(low), show(high), isHeat ? temperatureUnit(units) : unit),
    spread: [share(low), share(high)],
  }
}

/** Everything that a profile says, in the order of the page. */
export function valuesOf(kind: Kind, units: Units): Value[] {
  const value = (name: string, said: Pick<Value, 'text' | 'spread'>, fields: (keyof Kind)[]): Value => ({
    name,
    label: values[name === 'brood' && kind.animal === 'springtail' ? 'eggs' : name]!,
    ...said,
    source: (kind[`${name}_source` as keyof Kind] as string | undefined) ?? '',
    fields,
  })
  const range = (name: keyof typeof RANGES) =>
    value(name, ranged(kind, name, units), [...RANGES[name].fields])
  return [
    value('moisture', { text: worded.moisture[kind.moisture] ?? kind.moisture }, ['moisture']),
    value('air', { text: kind.air ? worded.air[kind.air]! : words.unknown }, ['air']),
    range('temperature'),
    range('brood'),
    range('brood_days'),
    range('maturity'),
    value('appetite', { text: worded.appetite(kind.appetite) }, ['appetite']),
    value('climbs', { text: worded.climbs(kind.climbs) }, ['climbs']),
    value('guards', { text: worded.guards(kind.guards ?? false) }, ['guards']),
  ]
}

/** Whether a value differs from the one that ships; a kind of the household's own has none that ships. */
export function isOwn(kind: Kind, seed: Kind | undefined, value: Value): boolean {
  return seed !== undefined && value.fields.some((field) => (kind[field] ?? 0) !== (seed[field] ?? 0))
}

/** A slug that no kind has yet. */
export function slugFor(name: string, kinds: Kind[]): string {
  const plain = name
    .normalize('NFD')
    .replace(/\p{M}/gu, '')
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '')
    .slice(0, 50)
  const base = plain || 'kind'
  const taken = new Set(kinds.map((kind) => kind.slug))
  let slug = base
  for (let n = 2; taken.has(slug); n++) slug = `${base}-${n}`
  return slug
}
