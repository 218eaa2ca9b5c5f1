import { derived, type Readable } from 'svelte/store'
import { db } from '../data/db'
import { live } from '../data/live'
import { call } from './server'

/** How the forecasts have done, as the server counts it. Shares and odds are 0-1. */
export interface Honesty {
  room: Report
  bins: Record<string, Report>
}

export interface Report {
  dry: Tally
  mouldy: Tally
}

export interface Tally {
  n: number
  enough: number
  brier: number | null
  brier_of_share: number | null
  tenths: Tenth[]
  found: { n: number; early: number; in_time: number; late: number }
  sentence: string
}

/** The calls between two tenths: their mean, and the share that was so. */
export interface Tenth {
  from: number
  to: number
  n: number
  called: number
  observed: number
}

/** What was last fetched; undefined until it is read, null where there is none. */
export const honesty: Readable<Honesty | null | undefined> = derived(
  live(async () => ({ kept: (await db.get('honesty')) ?? null })),
  ($found) => $found?.kept,
)

/** Fetches the report and keeps it for when there is no signal. Never fails: the last one stays. */
export async function fetchHonesty(): Promise<void> {
  try {
    const answer = await call<Honesty>('/api/underlog/honesty')
    await db.write(async () => {
      if (await db.get('token')) await db.set({ honesty: answer }) // not for who has signed out meanwhile
    })
  } catch {
    // Without signal, or signed out: what is kept is shown.
  }
}
