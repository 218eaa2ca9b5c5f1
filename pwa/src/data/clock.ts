import { db } from './db'

/**
 * This device's time, corrected by what the last exchange found (only where
 * the clock is more than two minutes off).
 */
export async function correctedNow(): Promise<number> {
  return Date.now() + ((await db.get('correction')) ?? 0)
}

/** An instant as RFC 3339 with the offset of a time zone, in which the engine phrases days and hours. */
export function inZone(instant: number, timeZone: string): string {
  const offset = offsetMinutes(instant, timeZone)
  const local = new Date(instant + offset * 60_000).toISOString().slice(0, 19)
  if (offset === 0) return `${local}Z`
  const size = Math.abs(offset)
  const two = (n: number) => String(n).padStart(2, '0')
  return `${local}${offset < 0 ? '-' : '+'}${two(Math.floor(size / 60))}:${two(size % 60)}`
}

/** From when on clocks are how far ahead of UTC, in seconds (internal/zone). */
export interface ClockChange {
  at: number
  offset: number
  daylight: boolean
}

const DAY_MS = 86_400_000
const STEP_MS = 3 * DAY_MS // no two changes are closer together
const BACK_MS = 400 * DAY_MS // as far as the engine looks back, and more
const AHEAD_MS = 800 * DAY_MS // and ahead

/** The changes of a zone's clocks about an instant. The first is what they are at the beginning. */
export function clockChanges(timeZone: string, around: number): ClockChange[] {
  const offset = offsets(timeZone)
  const from = Math.floor((around - BACK_MS) / 60_000) * 60_000
  const found = [{ at: from, offset: offset(from) }]
  for (let at = from; at < around + AHEAD_MS; at += STEP_MS) {
    const before = offset(at)
    if (offset(at + STEP_MS) === before) continue
    let [low, high] = [at, at + STEP_MS]
    while (high - low > 60_000) {
      const middle = low + Math.floor((high - low) / 120_000) * 60_000
      if (offset(middle) === before) low = middle
      else high = middle
    }
    found.push({ at: high, offset: offset(high) })
  }
  const least = Math.min(...found.map((one) => one.offset))
  return found.map((one) => ({
    at: one.at / 1000,
    offset: one.offset * 60,
    daylight: one.offset > least,
  }))
}

function offsetMinutes(instant: number, timeZone: string): number {
  return offsets(timeZone)(instant)
}

/** The offset of a zone in minutes, at any instant. A formatter is slow to make. */
function offsets(timeZone: string): (instant: number) => number {
  let format: Intl.DateTimeFormat
  try {
    format = new Intl.DateTimeFormat('en-US', { timeZone, timeZoneName: 'longOffset' })
  } catch {
    return (instant) => -new Date(instant).getTimezoneOffset() // a zone that this browser does not know
  }
  return (instant) => {
    const name = format.formatToParts(instant).find((part) => part.type === 'timeZoneName')?.value ?? ''
    const parts = /GMT([+-])(\d{2}):(\d{2})/.exec(name)
    if (!parts) return 0
    const minutes = Number(parts[2]) * 60 + Number(parts[3])
    return parts[1] === '-' ? -minutes : minutes
  }
}
