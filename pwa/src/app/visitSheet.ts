/** What stands on the sheet for whoever looks after the bins; the server sets it (backend/paper). */
import { doseGroups } from '../screens/away/doses'
import { inWalkingOrder } from '../data/order'
import type { VisitSheet } from '../sync/paper'
import type { Away, AwayStop, Bin, Food, Trip } from '../types'
import { paperDrawing } from '../ui/paperDrawing'
import { stop as stopWords } from '../words/en.stop'
import { away as awayWords } from '../words/en.away'
import { paper as words } from '../words/en.paper'
import { foodName, place, type Setting } from '../words/phrases'
import { dose, spoons } from '../words/spoons'
import { volume, type Units } from '../words/units'
import { clock, shortDay } from '../words/when'

const OTHER_END = { left: 'right', right: 'left', front: 'back', back: 'front' } as const

export interface Wish {
  trip: Trip
  found: Away
  bins: Bin[]
  foods: Food[]
  setting: Setting
  paper: 'a4' | 'letter'
  /** The pass's link, to be printed as a code; empty for none. */
  link: string
}

/** A dose in spoons and in mL: who comes has one or the other. */
export function inSpoons(ml: number, units: Units): string {
  return units === 'us' ? dose(ml) : `${volume(ml, 'metric')} (${spoons(ml)})`
}

export function visitSheet({ trip, found, bins, foods, setting, paper, link }: Wish): VisitSheet {
  const { zone, now, units, locale } = setting
  const opened = new Set(found.visits.flatMap((visit) => visit.stops.map((one) => one.bin)))
  const ordered = [...bins].sort(inWalkingOrder)
  const listed = ordered.filter((bin) => opened.has(bin.id))
  const number = new Map(listed.map((bin, i) => [bin.id, i + 1]))
  const byId = new Map(listed.map((bin) => [bin.id, bin]))
  const day = (text: string) => shortDay(new Date(`${text}T12:00:00Z`), 'UTC', now, locale)
  const title = (bin: Bin) => `${place(bin)} ${bin.name}`
  const doses = (stop: AwayStop) =>
    doseGroups(stop.dose_if_ml, (ml) => inSpoons(ml, units), awayWords.word).map(({ feels, dose }) =>
      dose === '' ? words.nothing(awayWords.or(feels)) : words.dose(awayWords.or(feels), dose),
    )

  function toDo(stop: AwayStop): string {
    return [
      words.feel(stopWords.dampEnd[stop.end]),
      ...doses(stop),
      ...(stop.food ? [awayWords.giveFood(foodName(stop.food, foods))] : []),
    ].join(' ')
  }

  const racks = [...new Set(listed.map((bin) => bin.rack))].map((name) => {
    const here = ordered.filter((bin) => bin.rack === name)
    return {
      name,
      shelves: [...new Set(here.map((bin) => bin.shelf))].map((shelf) => ({
        name: words.shelf(shelf),
        bins: here.filter((bin) => bin.shelf === shelf).map((bin) => number.get(bin.id) ?? 0),
      })),
    }
  })

  const days = found.visits.map((visit) => ({
    title: awayWords.visit(
      shortDay(new Date(visit.from), zone, now, locale),
      clock(new Date(visit.from), zone, locale),
      clock(new Date(visit.to), zone, locale),
    ),
    stops: visit.stops
      .filter((one) => byId.has(one.bin))
      .map((one) => ({
        number: number.get(one.bin)!,
        title: title(byId.get(one.bin)!),
        do: toDo(one),
        found: [words.found, ...Object.values(awayWords.word)],
      })),
  }))

  const each = listed.map((bin) => {
    const stops = found.visits.flatMap((visit) => visit.stops).filter((one) => one.bin === bin.id)
    const first = stops[0]!
    const dry = OTHER_END[bin.damp_end]
    const damp = words.dampEnd(words.ends[bin.damp_end])
    const other = words.dryEnd(words.ends[dry])
    const [left, right] = bin.damp_end === 'left' || bin.damp_end === 'front' ? [damp, other] : [other, damp]
    return {
      number: number.get(bin.id)!,
      title: title(bin),
      where: words.where(bin.rack, bin.shelf, bin.position),
      drawing: paperDrawing(bin, left, right),
      do: [
        words.feel(stopWords.dampEnd[first.end]),
        ...doses(first),
        ...(stops.some((one) => one.food) ? [words.foodDays] : []),
      ],
      dont: [words.otherEnd(stopWords.dampEnd[dry]), ...(first.closed ? [words.shut] : [])],
    }
  })

  const dampIsLeft = found.visits.every((visit) => visit.stops.every((one) => !(one.dose_if_ml['damp']! > 0)))
  const note = (trip.note ?? '')
    .split('\n')
    .map((line) => line.trim())
    .filter((line) => line !== '')
  return {
    paper,
    title: trip.name,
    span: words.span(day(trip.leaves), day(trip.returns), trip.sitter ?? ''),
    page: words.page,
    call: { title: words.call, lines: trip.call?.trim() ? [trip.call.trim()] : [] },
    notes: [
      ...(note.length > 0 ? [{ title: words.fromOwner, lines: pieces(note) }] : []),
      { title: words.how, lines: words.steps(dampIsLeft) },
      { title: words.not, lines: words.nots },
    ],
    map: { title: words.map, says: words.mapSays, racks },
    visits: { title: words.visits, none: words.noVisits, days },
    bins: { title: words.bins, dont: words.dont, each },
    code: link.trim(),
    scan: words.scan,
  }
}

const LONGEST_LINE = 300 // of a note on the sheet, as backend/paper takes it
const MOST_LINES = 12

/** Lines no longer than the sheet takes; what is over is carried on in the next one. */
function pieces(lines: string[]): string[] {
  const cut = new RegExp(`.{1,${LONGEST_LINE}}(?:\\s|$)|.{${LONGEST_LINE}}`, 'gu')
  return lines
    .flatMap((line) => line.match(cut) ?? [])
    .map((line) => line.trim())
    .slice(0, MOST_LINES)
}
