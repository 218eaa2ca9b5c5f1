/** A sitter's visits: which one is on, and which instruction follows which. */
import type { Spot, StepName, Taken, WalkRow } from '../data/sitter'
import type { PassStep, PassStop, PassView, PassVisit } from '../sync/passes'
import type { Entry } from '../types'
import { dayOf, daysBetween } from '../words/when'

/** What a sitter's page is about at an instant. */
export type Stage =
  | { at: 'begun'; walk: WalkRow }
  | { at: 'today' | 'missed' | 'ahead'; visit: PassVisit; days: number } // days: until it, below 0 since
  | { at: 'none' } // no visit is planned any more
  | { at: 'after' }

export function stageOf(view: PassView, walks: WalkRow[], now: Date): Stage {
  const today = dayOf(now, view.time_zone)
  if (today > view.returns) return { at: 'after' }
  const begun = walks.filter((walk) => !walk.doneAt).sort((a, b) => (a.begunAt < b.begunAt ? 1 : -1))[0]
  if (begun) return { at: 'begun', walk: begun }
  const [visit] = openVisits(view, walks)
  if (!visit) return { at: 'none' }
  const days = daysBetween(today, visit.date)
  return { at: days === 0 ? 'today' : days < 0 ? 'missed' : 'ahead', visit, days }
}

/** The visits that nobody has walked, soonest first. A visit in advance stands for the one that it was made for. */
export function openVisits(view: PassView, walks: WalkRow[]): PassVisit[] {
  const done = new Set(walks.filter((walk) => walk.doneAt).map((walk) => walk.date))
  return view.visits.filter((visit) => !done.has(visit.date))
}

export function beginWalk(pass: string, visit: PassVisit, now: Date): WalkRow {
  const { date, from, to, stops } = visit
  const at: Spot = { stop: 0, step: 'find' }
  return { pass, date, from, to, stops, at, taken: [], skipped: [], begunAt: now.toISOString(), doneAt: '' }
}

/** The instruction of a spot; find and shut are ours around those of the view. */
export type Instruction =
  | { do: 'find' | 'shut' }
  | { do: 'pour'; end: (PassStep & { do: 'feel' })['end']; ml: number }
  | { do: 'fine'; felt: NonNullable<Entry['feel']> }
  | PassStep

export function instruction(stop: PassStop, spot: Spot, taken: Taken[]): Instruction {
  if (spot.step === 'find' || spot.step === 'shut') return { do: spot.step }
  const [index, then] = spot.step.split(' ')
  const step = stop.steps[Number(index)]
  if (!step) return { do: 'shut' }
  if (!then || step.do !== 'feel') return step
  const felt = taken.findLast((one) => one.stop === spot.stop && one.step === index)?.felt ?? 'damp'
  const ml = step.dose_if_ml[felt] ?? 0
  return ml > 0 ? { do: 'pour', end: step.end, ml } : { do: 'fine', felt }
}

/** The step after one, within a stop; none after its last. */
export function stepAfter(stop: PassStop, step: StepName): StepName | null {
  if (step === 'shut') return null
  const [index = '', then] = step.split(' ')
  if (step !== 'find' && !then && stop.steps[Number(index)]?.do === 'feel')
    return `${Number(index)} then` as StepName
  const next = step === 'find' ? 0 : Number(index) + 1
  return next < stop.steps.length ? (`${next}` as StepName) : 'shut'
}

/** The walk with its present step behind it. */
export function goOn(walk: WalkRow, said: string, now: Date, felt?: Entry['feel']): WalkRow {
  const { stop, step } = walk.at
  const taken = [...walk.taken, { stop, step, said, entries: [], ...(felt && { felt }) }]
  const next = stepAfter(walk.stops[stop]!, step)
  return next ? { ...walk, taken, at: { stop, step: next } } : toNextStop({ ...walk, taken }, now)
}

/** The walk at its next bin; this one is left as it is. */
export function skip(walk: WalkRow, said: string, now: Date): WalkRow {
  const { stop, step } = walk.at
  const taken = [...walk.taken, { stop, step, said, entries: [] }]
  return toNextStop({ ...walk, taken, skipped: [...walk.skipped, walk.stops[stop]!.bin] }, now)
}

function toNextStop(walk: WalkRow, now: Date): WalkRow {
  const stop = walk.at.stop + 1
  if (stop < walk.stops.length) return { ...walk, at: { stop, step: 'find' } }
  return { ...walk, doneAt: now.toISOString() }
}

const MINUTES_BEFORE = 3 // to come in and fetch water; judgement
const MINUTES_PER_STOP = 2 // for somebody who reads each line; judgement

export function minutesOf(stops: number): number {
  return MINUTES_BEFORE + MINUTES_PER_STOP * stops
}

/** The foods that a visit puts in, by slug. */
export function foodsOf(stops: PassStop[]): string[] {
  const slugs = stops.flatMap((stop) => stop.steps.flatMap((step) => (step.do === 'feed' ? [step.food] : [])))
  return [...new Set(slugs)]
}
