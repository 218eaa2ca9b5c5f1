/**
 * The round: which bins are stops now, in which order, and how long the walk
 * takes. Pure: the Round screen, the stop sheet and the tests use the same.
 */
import { inWalkingOrder } from '../data/order'
import type { Bin, Chore, ChoreSort, Glance, Survey } from '../types'

/** Until then is "before the next likely round". */
export const REACH_MS = 12 * 3_600_000

export interface Stop {
  bin: Bin
  glance: Glance | undefined
  /** What makes this bin a stop, the most urgent first. */
  wanted: Chore[]
  /** Open, but due only after the next round: may be done on the way. */
  later: Chore[]
}

export interface Shelf {
  rack: string
  shelf: number
  stops: Stop[]
}

/**
 * Seconds at a bin, judgement: fetch, unlid, lid and put back; then each thing.
 * They decide nothing but the "about 9 minutes" of the headline.
 */
const AT_A_BIN = 35
const SECONDS: Record<ChoreSort, number> = {
  feel: 30,
  leftovers: 25,
  feed: 30,
  leaves: 35,
  renew: 900,
  look: 10,
  set_up: 40,
  escape: 15,
}

/** Whether a chore belongs to a round at now: open and due before the next one. */
export function isWanted(chore: Chore, now: Date): boolean {
  const until = now.getTime() + REACH_MS
  return Date.parse(chore.due) <= until && Date.parse(chore.opens) <= until
}

export function stopOf(bin: Bin, survey: Survey | undefined, now: Date): Stop {
  const chores = (survey?.chores ?? []).filter((chore) => chore.bin === bin.id)
  return split(
    bin,
    chores,
    survey?.glances.find((glance) => glance.bin === bin.id),
    now,
  )
}

function split(bin: Bin, chores: Chore[], glance: Glance | undefined, now: Date): Stop {
  const byDue = [...chores].sort(
    (a, b) => Date.parse(a.due) - Date.parse(b.due) || a.chore.localeCompare(b.chore),
  )
  const wanted = byDue.filter((chore) => isWanted(chore, now))
  const later = byDue.filter((chore) => !wanted.includes(chore) && Date.parse(chore.opens) <= now.getTime())
  return { bin, glance, wanted, later }
}

export function stops(bins: Bin[], survey: Survey | undefined, now: Date): Stop[] {
  if (!survey) return []
  const chores = new Map<string, Chore[]>() // of the bins that are stops
  for (const chore of survey.chores) if (isWanted(chore, now)) chores.set(chore.bin, [])
  for (const chore of survey.chores) chores.get(chore.bin)?.push(chore)
  const glances = new Map(survey.glances.map((glance) => [glance.bin, glance]))
  return bins
    .filter((bin) => !bin.deleted && chores.has(bin.id))
    .map((bin) => split(bin, chores.get(bin.id) ?? [], glances.get(bin.id), now))
    .sort((a, b) => inWalkingOrder(a.bin, b.bin))
}

/** Stops under their shelves, both in walking order. */
export function byShelf(list: Stop[]): Shelf[] {
  const shelves: Shelf[] = []
  for (const stop of list) {
    const { rack, shelf } = stop.bin
    const last = shelves[shelves.length - 1]
    if (last && last.rack === rack && last.shelf === shelf) last.stops.push(stop)
    else shelves.push({ rack, shelf, stops: [stop] })
  }
  return shelves
}

/** How long the walk takes, in whole minutes, at least one. */
export function minutes(list: Stop[]): number {
  let seconds = 0
  for (const stop of list) {
    seconds += AT_A_BIN
    for (const chore of stop.wanted) seconds += SECONDS[chore.chore]
  }
  return Math.max(1, Math.round(seconds / 60))
}

/** The chore that a bin without wants will have next, over all bins. */
export function nextChore(survey: Survey | undefined, now: Date): Chore | undefined {
  return survey?.chores
    .filter((chore) => !isWanted(chore, now))
    .reduce<Chore | undefined>(
      (first, chore) => (!first || Date.parse(chore.due) < Date.parse(first.due) ? chore : first),
      undefined,
    )
}

/** What each bin wants on this round, by its id; bins that want nothing are absent. */
export function wantsByBin(survey: Survey | undefined, now: Date): Map<string, ChoreSort[]> {
  const found = new Map<string, ChoreSort[]>()
  for (const chore of survey?.chores ?? []) {
    if (!isWanted(chore, now)) continue
    const own = found.get(chore.bin)
    if (own) own.push(chore.chore)
    else found.set(chore.bin, [chore.chore])
  }
  return found
}
