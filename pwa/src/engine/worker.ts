/**
 * The engine's room: a web worker that loads the forecasting core (Go compiled
 * to WebAssembly), feeds it from the local database and follows every change
 * there, whoever made it.
 */
import { expose } from 'comlink'
import { liveQuery } from 'dexie'
import { clockChanges, inZone } from '../data/clock'
import { db, entryOf, sheetOf, type EntryRow } from '../data/db'
import { flat } from '../data/stamp'
import type {
  Away,
  Entry,
  Feeding,
  FeedingOrder,
  FoodPace,
  Glance,
  Larder,
  Outlook,
  Problem,
  RenewalCalendar,
  Room,
  Sheet,
  Survey,
  Trip,
  TripReport,
  Troubled,
} from '../types'
import { keepSurvey } from './kept'

/** JSON text in and out; a failure is an object with the sentence in error. */
interface Core {
  put(records: string): { error?: string } | undefined
  reset(): void
  survey(at: string): string | { error: string }
  outlook(bin: string, at: string): string | { error: string }
  trip(trip: string, at: string): string | { error: string }
  feeding(order: string, at: string): string | { error: string }
  foodPaces(at: string): string | { error: string }
  trouble(bin: string, at: string): string | { error: string }
  renewals(at: string, order: string): string | { error: string }
  tripReport(trip: string, at: string): string | { error: string }
  larder(at: string): string | { error: string }
  tripCalendar(trip: string, at: string): string | { error: string }
  zone(name: string, changes: string): { error?: string } | undefined
  check(records: string, now: string): string | { error: string }
}

interface GoScope {
  location: { origin: string }
  Go: new () => { importObject: WebAssembly.Imports; run(instance: WebAssembly.Instance): Promise<void> }
  underlogEngine: Core
  underlogEngineReady?: () => void
}

const scope = globalThis as unknown as GoScope
const HISTORY_MS = 201 * 24 * 60 * 60 * 1000 // the engine looks at the last 200 days
const SETTLE_MS = 40 // several taps in a row are surveyed once
const MINUTE_MS = 60_000

let core: Core
let seen = 0 // the last arrival that the engine has
let rebuilt = -1
let correction = 0
let timeZone = 'UTC'
let toldZone = ''
let holds = false // no room is here, or not all of it: a forecast from part of the records would mislead
let timer: ReturnType<typeof setTimeout> | undefined
let onSurvey: (survey: Survey) => void = () => undefined

async function load(): Promise<void> {
  const version = `?v=${__ENGINE_VERSION__}`
  // A whole address: the development server keeps relative ones from files it does not build.
  await import(/* @vite-ignore */ `${scope.location.origin}/wasm_exec.js${version}`)
  const go = new scope.Go()
  const ready = new Promise<void>((resolve) => (scope.underlogEngineReady = resolve))
  const response = await fetch(`/engine.wasm${version}`)
  if (!response.ok) throw new Error(`The engine cannot be fetched (${response.status}).`)
  const streams = response.headers.get('Content-Type') === 'application/wasm'
  const { instance } = streams
    ? await WebAssembly.instantiateStreaming(response, go.importObject)
    : await WebAssembly.instantiate(await response.arrayBuffer(), go.importObject)
  go.run(instance).catch((error: unknown) => console.error('The engine stopped.', error))
  await ready
  core = scope.underlogEngine
}

/** The next whole second: the engine is asked in seconds, and what was just tapped has happened by then. */
function now(): string {
  return inZone(Math.ceil((Date.now() + correction) / 1000) * 1000, timeZone)
}

function answer<T>(result: string | { error: string }): T {
  if (typeof result !== 'string') throw new Error(result.error)
  return JSON.parse(result) as T
}

/** Go writes a list with nothing in it as null. */
function whole(glance: Glance): Glance {
  return { ...glance, food: glance.food ?? [] }
}

function put(sheets: Sheet[], entries: Entry[]): void {
  const failed = core.put(JSON.stringify({ sheets, entries }))
  if (failed?.error) console.error(failed.error)
}

/** Everything that arrived after what the engine has, and what says how to read it. */
async function news() {
  const meta = await db.getAll('rebuild', 'correction', 'firstLoad', 'arrival')
  if (meta.firstLoad) return { ...meta, whole: false, sheets: [], entries: [], arrived: seen, timeZone }
  const [sheets, entries, room] = await Promise.all([
    db.sheets.where('arrived').above(seen).toArray(),
    newEntries(Date.now() + (meta.correction ?? 0) - HISTORY_MS),
    db.sheets.where('sheet').equals('rooms').first(),
  ])
  const arrived = Math.max(seen, meta.arrival ?? 0)
  const zone = room ? flat<Room>(room).time_zone : timeZone
  return { ...meta, whole: room !== undefined, sheets, entries, arrived, timeZone: zone }
}

/**
 * At the start the history is left where it is: only the last 200 days are read, every strike, and
 * whatever took from the larder, since a box may last for years.
 */
async function newEntries(since: number): Promise<EntryRow[]> {
  if (seen === 0) {
    const indexed = ['struck', 'batch', 'mix', 'item'].map((name) =>
      db.entries.where(name).above('').toArray(),
    )
    const old = (await Promise.all(indexed)).flat().filter((row) => row.t === undefined || row.t <= since)
    return [...(await db.entries.where('t').above(since).toArray()), ...old]
  }
  const rows = await db.entries.where('arrived').above(seen).toArray()
  return rows.filter((row) => row.t === undefined || row.t > since || row.batch || row.mix || row.item)
}

function follow(): void {
  liveQuery(news).subscribe({
    next: (found) => {
      correction = found.correction ?? 0
      timeZone = found.timeZone
      holds = !found.whole
      if (rebuilt !== (found.rebuild ?? 0)) {
        const first = rebuilt === -1
        rebuilt = found.rebuild ?? 0
        if (!first) {
          // Something was taken away: start afresh from the whole database.
          core.reset()
          seen = 0
          void news().then((all) => take(all))
          return
        }
      }
      take(found)
    },
    error: (error) => console.error('The engine cannot read the database.', error),
  })
}

/** Tells the engine when the household's clocks are changed; it knows no zones itself. */
function tellZone(): void {
  if (toldZone === timeZone) return
  toldZone = timeZone
  const failed = core.zone(timeZone, JSON.stringify(clockChanges(timeZone, Date.now() + correction)))
  if (failed?.error) console.error(failed.error)
}

function take({ sheets, entries, arrived }: Awaited<ReturnType<typeof news>>): void {
  if (holds) return
  tellZone()
  if (sheets.length > 0 || entries.length > 0) put(sheets.map(sheetOf), entries.map(entryOf))
  seen = Math.max(seen, arrived)
  soon(SETTLE_MS)
}

function soon(delay: number): void {
  clearTimeout(timer)
  timer = setTimeout(refresh, delay)
}

function refresh(): void {
  if (holds) return soon(MINUTE_MS)
  try {
    const found = answer<Survey>(core.survey(now()))
    const survey = { at: found.at, chores: found.chores ?? [], glances: (found.glances ?? []).map(whole) }
    onSurvey(survey)
    keepSurvey(survey)
  } catch (error) {
    console.error('The survey failed.', error)
  }
  soon(MINUTE_MS)
}

const engine = {
  /** Loads the core and reports a survey now, after every change, and each minute. */
  async start(report: (survey: Survey) => void): Promise<void> {
    onSurvey = report
    await load()
    follow()
  },

  outlook(bin: string): Outlook {
    const { glance, chores, fan, marks } = answer<Outlook>(core.outlook(bin, now()))
    return { glance: whole(glance), chores: chores ?? [], fan: fan ?? [], marks: marks ?? [] }
  },

  /** What a trip comes to, kept or only thought of. */
  trip(trip: Trip): Away {
    return answer<Away>(core.trip(JSON.stringify(trip), now()))
  },

  /** A plan for feeding several bins. */
  feeding(order: FeedingOrder): Feeding {
    return answer<Feeding>(core.feeding(JSON.stringify(order), now()))
  },

  foodPaces(): FoodPace[] {
    return answer<FoodPace[]>(core.foodPaces(now()))
  },

  /** What may be going wrong, bin by bin; with one bin alone if it is named. */
  trouble(bin: string): Troubled[] {
    return answer<Troubled[]>(core.trouble(bin, now()))
  },

  renewals(steady: boolean): RenewalCalendar {
    return answer<RenewalCalendar>(core.renewals(now(), steady ? 'steady' : 'punctual'))
  },

  /** How a trip went, and how the forecasts made on leaving did. */
  tripReport(trip: Trip): TripReport {
    return answer<TripReport>(core.tripReport(JSON.stringify(trip), now()))
  },

  /** What is left in the larder, and when it runs out. */
  larder(): Larder {
    return answer<Larder>(core.larder(now()))
  },

  /** The visits of a trip as an iCalendar file. */
  tripCalendar(trip: Trip): string {
    return answer<string>(core.tripCalendar(JSON.stringify(trip), now()))
  },

  /** The problems of records by every rule; none for sound ones. */
  check(records: { sheets: Sheet[]; entries: Entry[] }, at: number): Problem[] {
    const found = answer<Record<string, Problem[]>>(
      core.check(JSON.stringify(records), new Date(at).toISOString()),
    )
    return Object.values(found).flat()
  },
}

export type Engine = typeof engine

expose(engine)
