import type { Remote } from 'comlink'
import { get, readable, writable, type Readable } from 'svelte/store'
import { useChecker } from '../data/log'
import type { Away, Larder, Outlook, Problem, RenewalCalendar, Survey, Trip, TripReport } from '../types'
import { lastSurvey } from './kept'
import type { Engine } from './worker'

/** The engine as the page sees it: a worker that is spoken to as if it were here. */
const state = writable<'loading' | 'ready' | 'missing'>('loading')
const current = writable<Survey | undefined>(undefined)

export const engineState: Readable<'loading' | 'ready' | 'missing'> = state
export const survey: Readable<Survey | undefined> = current

let engine: Remote<Engine> | null = null

/** The last known survey stands in until the engine's first. */
export async function showKept(): Promise<void> {
  const kept = await lastSurvey()
  if (kept && get(current) === undefined) current.set(kept)
}

/** Starts the worker. */
export async function startEngine(onReady: () => void): Promise<void> {
  const { proxy, wrap } = await import('comlink')
  const worker = new Worker(new URL('./worker.ts', import.meta.url), { type: 'module', name: 'engine' })
  const remote = wrap<Engine>(worker)
  const report = (found: Survey) => {
    current.set(found)
    state.set('ready')
  }
  remote
    .start(proxy(report))
    .then(() => {
      engine = remote
      useChecker(check)
      onReady()
    })
    .catch((error: unknown) => {
      console.error('The engine could not be loaded.', error)
      state.set('missing')
    })
}

const PATIENCE_MS = 80 // a tap is answered within 100 ms: a busy engine is not waited for

async function check(...args: Parameters<Engine['check']>): Promise<Problem[]> {
  const silence = new Promise<Problem[]>((resolve) => setTimeout(() => resolve([]), PATIENCE_MS))
  return Promise.race([engine!.check(...args).catch(() => []), silence])
}

/** What the page of one bin shows, anew with every survey. */
export function outlook(bin: string): Readable<Outlook | undefined> {
  return readable<Outlook | undefined>(undefined, (set) =>
    survey.subscribe((known) => {
      if (known === undefined) return
      engine
        ?.outlook(bin)
        .then(set)
        .catch((error: unknown) => console.error('The outlook failed.', error))
    }),
  )
}

/** What a trip comes to; undefined while there is no engine, or where its days cannot be read. */
export async function away(trip: Trip): Promise<Away | undefined> {
  try {
    return await engine?.trip({ ...trip })
  } catch (error) {
    console.error('The trip cannot be worked out.', error)
    return undefined
  }
}

/** What is left in the larder, anew with every survey. */
export const larder: Readable<Larder | undefined> = readable<Larder | undefined>(undefined, (set) =>
  survey.subscribe((known) => {
    if (known === undefined) return
    engine
      ?.larder()
      .then(set)
      .catch((error: unknown) => console.error('The larder cannot be reckoned.', error))
  }),
)

/** The coming year of renewals, anew with every survey; steady leaves alone what the keeper knows. */
export function renewals(steady: boolean): Readable<RenewalCalendar | undefined> {
  return readable<RenewalCalendar | undefined>(undefined, (set) =>
    survey.subscribe((known) => {
      if (known === undefined) return
      engine
        ?.renewals(steady)
        .then(set)
        .catch((error: unknown) => console.error('The calendar of renewals failed.', error))
    }),
  )
}

/** Asks the engine something; undefined while there is none, or where it fails. */
export async function ask<T>(question: (engine: Remote<Engine>) => Promise<T>): Promise<T | undefined> {
  try {
    return engine ? await question(engine) : undefined
  } catch (error) {
    console.error('The engine has no answer.', error)
    return undefined
  }
}

/** How a trip went; undefined while there is no engine. */
export async function tripReport(trip: Trip): Promise<TripReport | undefined> {
  try {
    return await engine?.tripReport({ ...trip })
  } catch (error) {
    console.error('The trip cannot be looked back on.', error)
    return undefined
  }
}

/** The visits of a trip as an iCalendar file; undefined while there is no engine. */
export async function tripCalendar(trip: Trip): Promise<string | undefined> {
  try {
    return await engine?.tripCalendar({ ...trip })
  } catch (error) {
    console.error('The calendar of the trip cannot be made.', error)
    return undefined
  }
}
