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

function offsetMinutes(instant: number, timeZone: string): number {
  try {
    const format = new Intl.DateTimeFormat('en-US', { timeZone, timeZoneName: 'longOffset' })
    const name = format.formatToParts(instant).find((part) => part.type === 'timeZoneName')?.value ?? ''
    const parts = /GMT([+-])(\d{2}):(\d{2})/.exec(name)
    if (!parts) return 0
    const minutes = Number(parts[2]) * 60 + Number(parts[3])
    return parts[1] === '-' ? -minutes : minutes
  } catch {
    return -new Date(instant).getTimezoneOffset() // a zone that this browser does not know
  }
}
