/** What sitters did on a trip, as this device has it: visit by visit, the newest first. */
import type { Readable } from 'svelte/store'
import type { Entry, LoggedEntry, Person, Trip } from '../types'
import { DAY, dayOf } from '../words/when'
import { db, entryOf } from './db'
import { live } from './live'

/** One day on which one sitter was there. */
export interface VisitDone {
  day: string
  person: Person
  entries: LoggedEntry[] // oldest first; photos that go with another entry are shown with that
}

/** The visits of the trip that leaves and returns on these days of a zone. */
export function visitsOf(
  leaves: Trip['leaves'],
  returns: Trip['returns'],
  zone: string,
): Readable<VisitDone[] | undefined> {
  // A day more on both sides, whatever the zone: nobody but sitters is listed.
  const from = Date.parse(`${leaves}T00:00:00Z`) - DAY
  const until = Date.parse(`${returns}T00:00:00Z`) + 3 * DAY
  return live(async () => {
    const people = ((await db.get('people')) ?? []).filter((person) => person.role === 'sitter')
    if (people.length === 0) return []
    const ids = new Set(people.map((person) => person.id))
    const rows = await db.entries
      .where('t')
      .between(from, until)
      .filter((row) => ids.has(row.by ?? ''))
      .toArray()
    const strikes = await db.entries
      .where('struck')
      .anyOf(rows.map((row) => row.id))
      .toArray()
    const struck = new Set(strikes.map((strike) => strike.struck))
    return byVisit(
      rows.map(entryOf).filter((entry) => !struck.has(entry.id)),
      people,
      zone,
    )
  })
}

export function byVisit(entries: Entry[], people: Person[], zone: string): VisitDone[] {
  const visits = new Map<string, VisitDone>()
  for (const entry of entries) {
    const person = people.find((one) => one.id === entry.by)
    if (!person) continue
    const day = dayOf(new Date(entry.at), zone)
    const key = `${day} ${person.id}`
    const visit = visits.get(key) ?? { day, person, entries: [] }
    visit.entries.push({ ...entry, void: false, state: 'sent' })
    visits.set(key, visit)
  }
  const all = [...visits.values()]
  for (const visit of all) visit.entries.sort((a, b) => (a.at < b.at ? -1 : 1))
  return all.sort((a, b) => (a.day === b.day ? 0 : a.day < b.day ? 1 : -1))
}

/** How long a report stands unseen (judgement): older ones are for the notebook. */
export const STANDS_MS = 30 * DAY

/**
 * What sitters found wrong and nobody has seen to yet, the newest first. Seen
 * to is what somebody of the household has logged at that bin since, or, of
 * the room, noted since.
 */
export function openReports(now: Date): Readable<Entry[] | undefined> {
  return live(async () => {
    const people = ((await db.get('people')) ?? []).filter((person) => person.role === 'sitter')
    if (people.length === 0) return []
    const sitters = new Set(people.map((person) => person.id))
    const since = now.getTime() - STANDS_MS
    const notes = await db.entries.where('[what+t]').between(['note', since], ['note', Infinity]).toArray()
    const reports = notes.filter((row) => sitters.has(row.by ?? ''))
    const told = [...new Set(reports.flatMap((row) => row.bin ?? []))]
    const there = await Promise.all(
      told.map((bin) => db.entries.where('[bin+t]').between([bin, since], [bin, Infinity]).toArray()),
    )
    const rows = [...new Map([...notes, ...there.flat()].map((row) => [row.id, row])).values()]
    const strikes = await db.entries
      .where('struck')
      .anyOf(rows.map((row) => row.id))
      .toArray()
    const struck = new Set(strikes.map((strike) => strike.struck))
    return unseen(
      rows.map(entryOf).filter((entry) => !struck.has(entry.id)),
      sitters,
    )
  })
}

/** The reports among these entries that stand. */
export function unseen(entries: Entry[], sitters: Set<string>): Entry[] {
  const bySitter = (entry: Entry) => sitters.has(entry.by ?? '')
  return entries
    .filter((entry) => entry.what === 'note' && bySitter(entry))
    .filter(
      (report) =>
        !entries.some(
          (entry) =>
            !bySitter(entry) &&
            entry.what !== 'strike' &&
            Date.parse(entry.at) > Date.parse(report.at) &&
            (report.bin ? entry.bin === report.bin : entry.what === 'note' && !entry.bin),
        ),
    )
    .sort((a, b) => Date.parse(b.at) - Date.parse(a.at))
}

/** What an owner would want to know of a visit at a glance. */
export interface Glimpse {
  seen: string[] // bins that were opened
  watered: string[]
  ml: number
  odd: LoggedEntry[] // what was felt or found that is not as it should be
  wrong: LoggedEntry[] // what the sitter says is wrong
}

export function glimpse(visit: VisitDone): Glimpse {
  const of = (entries: LoggedEntry[]) => [
    ...new Set(entries.flatMap((entry) => (entry.bin ? [entry.bin] : []))),
  ]
  const did = visit.entries.filter((entry) => entry.what !== 'note' && entry.what !== 'photo')
  const watered = visit.entries.filter((entry) => entry.what === 'water')
  return {
    seen: of(did),
    watered: of(watered),
    ml: watered.reduce((sum, entry) => sum + (entry.water_ml ?? 0), 0),
    odd: did.filter((entry) => entry.feel === 'dry' || entry.feel === 'soaked' || entry.mould === 'furry'),
    wrong: visit.entries.filter((entry) => entry.what === 'note'),
  }
}
