import type { Entry, Field, Problem, SheetSort, What } from '../types'
import { limits } from './limits'

/**
 * The rules of husbandry (field.go, entry.go, sheet.go, bin.go), applied to
 * the same table of limits, with the same sentences. The engine applies them
 * too; this answers before the engine has loaded, in the service worker, and
 * while somebody types. testdata/checks.json holds both to the same answers.
 */
const EARLIEST = Date.UTC(1990, 0, 1)
const LATEST = Date.UTC(2100, 0, 1)
const AHEAD = 24 * 60 * 60 * 1000
const MOST_OPENINGS = 20
const MOST_PARTS = 20
const LONGEST_TRIP = 90 // days
const MOST_TRIP_BINS = 500
const REF = /^[A-Za-z0-9._-]{1,64}$/
const DIGEST = /^[0-9a-f]{64}$/
const RFC3339 =
  /^(\d{4}-\d{2}-\d{2})T([01]\d|2[0-3]):[0-5]\d:[0-5]\d([.,]\d+)?(Z|[+-]([01]\d|2[0-3]):[0-5]\d)$/

/** What is wrong with a value as a value of the field at now (Unix milliseconds), or null. */
export function checkField(field: Field, value: unknown, now: number): Problem | null {
  if (value === undefined || value === null || (typeof value === 'number' && Number.isNaN(value))) {
    return field.required ? wrong(field, '') : null
  }
  switch (field.type) {
    case 'number':
    case 'whole': {
      const fits = typeof value === 'number' && value >= field.min && value <= field.max
      const whole = field.type === 'number' || Number.isInteger(value)
      return fits && whole ? null : wrong(field, raw(value))
    }
    case 'truth':
      return typeof value === 'boolean' ? null : wrong(field, raw(value))
    case 'list':
      return Array.isArray(value) ? null : wrong(field, raw(value))
    default:
      return typeof value === 'string' ? checkString(field, value, now) : wrong(field, raw(value))
  }
}

function checkString(field: Field, value: string, now: number): Problem | null {
  const shown = value === '' ? '""' : value
  switch (field.type) {
    case 'text':
      if (field.required && value.trim() === '') return wrong(field, '')
      return [...value].length > field.max ? wrong(field, value) : null
    case 'word':
      return field.words!.includes(value) ? null : wrong(field, shown)
    case 'time': {
      const day = RFC3339.exec(value)?.[1]
      return day && isDay(day) && isPast(Date.parse(value.replace(',', '.')), now)
        ? null
        : wrong(field, shown)
    }
    case 'day':
      return isDay(value) && isPast(Date.parse(value), now) ? null : wrong(field, shown)
    case 'date': {
      const instant = Date.parse(value)
      return isDay(value) && instant >= EARLIEST && instant < LATEST ? null : wrong(field, shown)
    }
    case 'digest':
      return DIGEST.test(value) ? null : wrong(field, shown)
    default:
      return REF.test(value) ? null : wrong(field, shown)
  }
}

/** 2026-02-31 is read as a day in March by Date; a calendar has no such day. */
function isDay(text: string): boolean {
  if (!/^\d{4}-\d{2}-\d{2}$/.test(text)) return false
  const day = new Date(`${text}T00:00:00Z`)
  return !Number.isNaN(day.getTime()) && day.toISOString().startsWith(text)
}

function isPast(instant: number, now: number): boolean {
  return instant >= EARLIEST && instant <= now + AHEAD
}

function wrong(field: Field, value: string): Problem {
  return { field: field.name, value, accepted: accepted(field) }
}

/** The half of the sentence that says what would be right. */
export function accepted(field: Field): string {
  switch (field.type) {
    case 'text':
      return field.required ? `give 1 to ${field.max} characters` : `give at most ${field.max} characters`
    case 'number':
    case 'whole': {
      const what = field.type === 'whole' ? 'a whole number' : 'a number'
      return `give ${what} from ${field.min} to ${field.max}${field.unit ? ` ${field.unit}` : ''}`
    }
    case 'truth':
      return 'give true or false'
    case 'word':
      return `give one of ${field.words!.join(', ')}`
    case 'time':
      return 'give a time such as 2026-05-28T19:05:00+02:00, from 1990 on and not in the future'
    case 'day':
      return 'give a day such as 2026-05-28, from 1990 on and not in the future'
    case 'date':
      return 'give a day such as 2026-05-28, from 1990 to 2099'
    case 'ref':
      return 'give the id of a record, 1 to 64 letters, digits, dots, dashes or underscores'
    case 'digest':
      return 'give the SHA-256 of the picture, 64 lower-case hex digits'
    default:
      return 'give a list'
  }
}

/** What is wrong with an entry; a sound one has no problems. */
export function checkEntry(entry: Partial<Entry>, now: number): Problem[] {
  const whats = Object.keys(limits.entries).sort()
  const what = checkField({ ...plainField('what', 'word'), words: whats, required: true }, entry.what, now)
  if (what) return [what]
  const unknown = `leave it out of an entry that says ${JSON.stringify(entry.what)}`
  const problems = checkFields(entry, limits.entries[entry.what as What], ['what', 'type'], now, unknown)
  if (entry.what === 'climate' && isAbsent(entry.temperature_c) && isAbsent(entry.humidity_pct)) {
    problems.push({ field: 'temperature_c', value: '', accepted: 'give temperature_c, humidity_pct or both' })
  }
  if (entry.what === 'escape' && [entry.rim, entry.mesh, entry.lid].every(isAbsent)) {
    problems.push({ field: 'rim', value: '', accepted: 'give rim, mesh, lid or some of them' })
  }
  if (entry.what === 'larder' && [entry.found, entry.used, entry.added].every(isAbsent)) {
    problems.push({ field: 'found', value: '', accepted: 'give found, used or added' })
  }
  if (entry.what === 'note' && isAbsent(entry.note)) {
    problems.push({ field: 'note', value: '', accepted: 'give 1 to 2000 characters' })
  }
  return problems
}

/** What is wrong with the fields that an edit of a sheet names; whole asks for the required ones too. */
export function checkSheet(
  sort: SheetSort,
  fields: Record<string, unknown>,
  now: number,
  whole = false,
): Problem[] {
  const rules = limits.sheets[sort].filter((rule) => whole || rule.name in fields)
  const problems = checkFields(fields, rules, [], now, `leave it out: ${sort} have no such field`)
  if (sort === 'bins') problems.push(...checkOpenings(fields, now))
  if (sort === 'trips') problems.push(...checkTrip(fields, now))
  if (sort === 'mixes')
    problems.push(...checkObjects(fields, 'parts', 'parts', 'a part', MOST_PARTS, now, () => limits.part))
  if (sort === 'kinds') problems.push(...checkKind(fields))
  return problems
}

/** Ranges of a kind are the right way round; 0 is an end that nobody knows. */
function checkKind(fields: Record<string, unknown>): Problem[] {
  return ['temperature_X_c', 'brood_X', 'brood_days_X', 'maturity_X_months'].flatMap((name) => {
    const [min, max] = [name.replace('X', 'min'), name.replace('X', 'max')]
    const [low, high] = [fields[min], fields[max]]
    if (typeof low !== 'number' || typeof high !== 'number' || high >= low || high === 0) return []
    return [{ field: max, value: String(high), accepted: `give at least ${min}, ${low}` }]
  })
}

function checkTrip(fields: Record<string, unknown>, now: number): Problem[] {
  const problems = checkItems(fields, { ...plainField('days', 'date'), required: true }, LONGEST_TRIP, now)
  for (const name of ['bins', 'closed'])
    problems.push(...checkItems(fields, { ...plainField(name, 'ref'), required: true }, MOST_TRIP_BINS, now))
  const { leaves, returns, from_hour: from, to_hour: to } = fields
  if (typeof leaves === 'string' && typeof returns === 'string' && isDay(leaves) && isDay(returns)) {
    const days = (Date.parse(returns) - Date.parse(leaves)) / AHEAD
    const accepted = `give a day from ${leaves} on, at most ${LONGEST_TRIP} days later`
    if (days < 0 || days > LONGEST_TRIP) problems.push({ field: 'returns', value: returns, accepted })
  }
  if (Number.isInteger(from) && Number.isInteger(to) && (to as number) <= (from as number))
    problems.push({
      field: 'to_hour',
      value: String(to),
      accepted: `give a later hour than from_hour, ${from as number}`,
    })
  return problems
}

function checkItems(fields: Record<string, unknown>, rule: Field, most: number, now: number): Problem[] {
  const list = fields[rule.name]
  if (!Array.isArray(list)) return []
  if (list.length > most)
    return [{ field: rule.name, value: `${list.length} items`, accepted: `give at most ${most}` }]
  return list.flatMap((item, i) => {
    const problem = checkField(rule, item, now)
    return problem ? [{ ...problem, field: `${rule.name} ${i + 1}` }] : []
  })
}

function checkOpenings(fields: Record<string, unknown>, now: number): Problem[] {
  return checkObjects(fields, 'openings', 'sorts of opening', 'an opening', MOST_OPENINGS, now, (given) => {
    const round = given['shape'] === 'round'
    return limits.opening.map((rule) => {
      if (rule.name === 'diameter_mm') return { ...rule, required: round }
      if (rule.name === 'length_mm' || rule.name === 'width_mm') return { ...rule, required: !round }
      return rule
    })
  })
}

/** Checks every object of a list by the rules for it; many and one are what people call them. */
function checkObjects(
  fields: Record<string, unknown>,
  name: string,
  many: string,
  one: string,
  most: number,
  now: number,
  rules: (given: Record<string, unknown>) => Field[],
): Problem[] {
  const list = fields[name]
  if (!Array.isArray(list)) return []
  if (list.length > most)
    return [{ field: name, value: `${list.length} ${many}`, accepted: `give at most ${most} ${many}` }]
  return list.flatMap((item: unknown, i) => {
    const field = `${name} ${i + 1}`
    if (typeof item !== 'object' || item === null || Array.isArray(item))
      return [{ field, value: shorten(raw(item), 60), accepted: 'give one whole JSON object' }]
    const given = item as Record<string, unknown>
    const problems = checkFields(given, rules(given), [], now, `leave it out: ${one} has no such field`)
    return problems.map((problem) => ({ ...problem, field: `${field}, ${problem.field}` }))
  })
}

function checkFields(
  given: object,
  rules: Field[],
  known: string[],
  now: number,
  unknown: string,
): Problem[] {
  const values = given as Record<string, unknown>
  const covered = new Set([...known, ...rules.map((rule) => rule.name)])
  const problems: Problem[] = []
  for (const rule of rules) {
    const problem = checkField(rule, values[rule.name], now)
    if (problem) problems.push(problem)
  }
  for (const name of Object.keys(values).sort()) {
    if (covered.has(name) || values[name] === undefined) continue
    problems.push({ field: shorten(name, 40), value: shorten(raw(values[name]), 60), accepted: unknown })
  }
  return problems
}

function plainField(name: string, type: Field['type']): Field {
  return { name, type, min: 0, max: 0 }
}

function isAbsent(value: unknown): boolean {
  return value === undefined || value === null || (typeof value === 'string' && value.trim() === '')
}

function raw(value: unknown): string {
  return JSON.stringify(value) ?? String(value)
}

function shorten(text: string, most: number): string {
  const runes = [...text]
  return runes.length <= most ? text : `${runes.slice(0, most).join('')}… (${runes.length} characters)`
}

/** The sentence of a problem, as husbandry.Problem.Error makes it. */
export function sentence(problem: Problem): string {
  if (problem.value === '') return `${problem.field} is missing: ${problem.accepted}.`
  return `${problem.field} is ${shorten(problem.value, 60)}: ${problem.accepted}.`
}
