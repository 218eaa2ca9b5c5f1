/**
 * Sentences made from records: why a bin is a stop, what an entry says, when
 * something will be. Units and time zone are the household's, the form of
 * dates and clocks the reader's.
 */
import type { Bin, Chore, Entry, Food, Glance, Problem } from '../types'
import { amounts, capital, line, list, odds, readings, reason, when, said } from './en'
import { ways, why as because } from './en.why'
import { temperature, volume, type Units } from './units'
import {
  clock,
  dayAndMonth,
  dayOf,
  daysBetween,
  DAY,
  HOUR,
  hourOf,
  monthsBetween,
  partOfDay,
  shortDay,
  weekday,
} from './when'

/** What phrasing needs to know about the household and the moment. */
export interface Setting {
  now: Date
  zone: string
  units: Units
  locale?: string
}

/** The short code on a bin's label: the rack's first letter or digit, shelf and position. */
export function place(bin: Pick<Bin, 'rack' | 'shelf' | 'position'>): string {
  const initial = [...bin.rack.trim()][0]?.toUpperCase() ?? '?'
  return `${initial}${bin.shelf}-${bin.position}`
}

/** How long from one instant to another, in the coarsest unit that says enough. */
export function span(from: Date, to: Date): string {
  const ms = Math.max(0, to.getTime() - from.getTime())
  if (ms < HOUR) return when.minutes(Math.max(1, Math.round(ms / 60_000)))
  if (ms < 48 * HOUR) return when.hours(Math.round(ms / HOUR))
  return when.days(Math.round(ms / DAY))
}

/** How old something is that began on a day (2006-01-02). */
export function age(day: string, s: Setting): string {
  const today = dayOf(s.now, s.zone)
  const months = monthsBetween(day, today)
  const days = Math.max(0, daysBetween(day, today))
  if (days === 0) return when.lessThanADay
  return months < 2 ? when.days(days) : when.months(Math.round(months))
}

/** An instant to come: this evening, tomorrow noon, Friday morning, Wed 2 Dec. */
export function coming(at: Date, s: Setting): string {
  if (at.getTime() <= s.now.getTime()) return when.now
  const days = daysBetween(dayOf(s.now, s.zone), dayOf(at, s.zone))
  if (days > 6) return shortDay(at, s.zone, s.now, s.locale)
  return when.coming(days, partOfDay(hourOf(at, s.zone)), weekday(at, s.zone, s.locale))
}

/** An instant that was: just now, 19:05, yesterday 19:05, Saturday, Wed 2 Dec. */
export function past(at: Date, s: Setting): string {
  if (Math.abs(s.now.getTime() - at.getTime()) < 60_000) return when.justNow
  const days = daysBetween(dayOf(at, s.zone), dayOf(s.now, s.zone))
  if (days <= 0) return clock(at, s.zone, s.locale)
  if (days === 1) return `${when.yesterday} ${clock(at, s.zone, s.locale)}`
  return days < 7 ? weekday(at, s.zone, s.locale) : shortDay(at, s.zone, s.now, s.locale)
}

/** A day and its time, for lists of entries. */
export function stamp(at: Date, s: Setting): string {
  return when.dayAndTime(dayLabel(dayOf(at, s.zone), at, s), clock(at, s.zone, s.locale))
}

export function dayLabel(day: string, at: Date, s: Setting): string {
  const days = daysBetween(day, dayOf(s.now, s.zone))
  if (days === 0) return capital(when.today)
  if (days === 1) return capital(when.yesterday)
  return shortDay(at, s.zone, s.now, s.locale)
}

/** One reason, with its odds, why a bin wants something. */
export function reasonOf(chore: Chore, glance: Glance | undefined, foods: Food[], s: Setting): string {
  const why = chore.why
  const since = why?.at ? span(new Date(why.at), s.now) : ''
  switch (chore.chore) {
    case 'feel': {
      if (why?.code === 'never felt') return reason.neverFelt
      const dry = glance?.dry ?? chore.odds
      if (dry >= TELLING) return reason.dryNow(odds.chance(dry))
      const then = (chore.forecast ?? []).find(
        (point) => (point.dry ?? 0) >= TELLING && Date.parse(point.at) > s.now.getTime(),
      )
      if (then) return reason.dryBy(coming(new Date(then.at), s), odds.chance(then.dry ?? 0))
      if (why?.code === 'dry' && why.at && (why.odds ?? 0) >= 0.03)
        return reason.dryBy(coming(new Date(why.at), s), odds.chance(why.odds ?? 0))
      return reason.feelBy(coming(new Date(chore.due), s))
    }
    case 'leftovers': {
      const lying = glance?.food?.find((one) => one.of === chore.of)
      if (!lying) return reason.leftover
      const food = foodName(lying.food, foods)
      if (why?.code === 'mould left') return because.mouldLeft(food, readings[why.word ?? ''] ?? '', since)
      const lies = span(new Date(lying.since), s.now)
      if (lying.mouldy < 0.03) return reason.lyingClean(food, lies)
      if (lying.mouldy > 0.97) return reason.lyingMouldy(food, lies)
      return reason.lying(food, lies, odds.chance(lying.mouldy))
    }
    case 'leaves':
      if (why?.code === 'no leaves') return because.noLeaves(odds.chance(chore.odds))
      return chore.odds < 0.03 && since ? because.leaves(since) : reason.leaves(odds.chance(chore.odds))
    case 'renew': {
      const old = glance?.renewed ? age(glance.renewed, s) : ''
      if (why?.code === 'planned' && why.at) {
        return because.planned(dayAndMonth(dayOf(new Date(why.at), s.zone), s.locale))
      }
      if (why?.code === 'frass') {
        const chance = odds.chance(why.odds ?? chore.odds)
        return old ? because.frass(old, chance) : because.frassUnknown(chance)
      }
      return old ? reason.renew(old) : reason.renewUnknown
    }
    case 'look':
      return glance?.last_opened ? reason.look(span(new Date(glance.last_opened), s.now)) : reason.lookEver
    case 'set_up': {
      const days = why?.at ? daysBetween(dayOf(s.now, s.zone), dayOf(new Date(why.at), s.zone)) : 1
      const leaving = days <= 0 ? when.today : when.tomorrow
      return chore.dose_ml ? because.trip(leaving, odds.chance(chore.odds)) : because.tripLeaves(leaving)
    }
    case 'escape':
      if (why?.code === 'escaped') return because.escaped(since)
      if (why?.code === 'way out') return because.wayOut(ways[why.word ?? ''] ?? '', since)
      return why?.code === 'ramp' ? because.ramp(since) : because.unchecked(since)
    case 'feed':
      if (why?.code === 'never fed') return because.neverFed
      return since ? because.fed(foodName(why?.food ?? '', foods), since) : reason.feed
  }
}

/** From this chance of dryness on, it is worth naming when it is reached. */
const TELLING = 0.2

export function foodName(slug: string, foods: Food[]): string {
  const found = foods.find((food) => food.slug === slug)?.name ?? slug
  return found.toLowerCase()
}

/** Handfuls in quarters, written as people do: ¼, ½, 1, 1½, 2¼. */
export function handfuls(n: number): string {
  const quarters = Math.round(n * 4)
  const part = ['', '¼', '½', '¾'][quarters % 4]!
  const whole = Math.floor(quarters / 4)
  return amounts.handfuls(n, whole === 0 && part !== '' ? part : `${whole}${part}`)
}

/** What one entry says, in one line. fed: the food of the feeding that leftovers look at. */
export function sayEntry(entry: Entry, foods: Food[], s: Setting, fed = ''): string {
  const word = (value: string | undefined) => (value ? (readings[value] ?? value) : '')
  switch (entry.what) {
    case 'feel':
      return line.feel(word(entry.feel))
    case 'water':
      return line.water(volume(entry.water_ml ?? 0, s.units))
    case 'feed':
      return line.feed(foodName(entry.food ?? '', foods), entry.pieces ?? 1, word(entry.side))
    case 'leftovers':
      return line.leftovers(
        fed && foodName(fed, foods),
        word(entry.left),
        word(entry.mould),
        entry.removed ?? false,
      )
    case 'leaves':
      return line.leaves(word(entry.leaves))
    case 'add leaves':
      return line.addLeaves(handfuls(entry.handfuls ?? 0), entry.batch ?? '')
    case 'substrate':
      return line.substrate(word(entry.substrate))
    case 'renew':
      return line.renew(entry.mix ?? '')
    case 'climate':
      return line.climate([
        ...(entry.temperature_c === undefined ? [] : [temperature(entry.temperature_c, s.units)]),
        ...(entry.humidity_pct === undefined ? [] : [`${Math.round(entry.humidity_pct)}\u00a0%`]),
      ])
    case 'young':
      return said.young
    case 'add wood':
      return said['add wood']
    case 'seen':
      return line.seen(word(entry.seen), entry.count ?? 0, entry.place ?? '')
    case 'escape': {
      const found = [entry.lid, entry.mesh, entry.rim].flatMap((one) => ways[one ?? ''] ?? [])
      return found.length > 0 ? line.wayOut(found) : line.tight
    }
    case 'look':
      return line.look
    case 'photo':
      return line.photo
    case 'larder':
      return line.larder(entry.found ?? '', entry.used ?? 0, entry.added ?? 0)
    case 'strike':
      return line.strike
    case 'note':
      return entry.note ?? said.note
  }
}

/** The problems of a record that nobody named to the person yet, as one text. */
export function problemsText(problems: Problem[]): string {
  return problems
    .map((p) => (p.value === '' ? `${p.field}: ${p.accepted}.` : `${p.field} is ${p.value}: ${p.accepted}.`))
    .join(' ')
}

export { list }
