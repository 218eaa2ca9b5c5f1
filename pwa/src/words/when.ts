/**
 * Instants and days as people say them, in the household's time zone and the
 * reader's locale. Making an Intl formatter is slow, so each is made once.
 */
const made = new Map<string, Intl.DateTimeFormat>()

function formatter(
  zone: string,
  options: Intl.DateTimeFormatOptions,
  locale: string | undefined,
): Intl.DateTimeFormat {
  const key = `${locale ?? ''}|${zone}|${JSON.stringify(options)}`
  let found = made.get(key)
  if (!found) {
    try {
      found = new Intl.DateTimeFormat(locale, { ...options, timeZone: zone })
    } catch {
      found = new Intl.DateTimeFormat(locale, { ...options, timeZone: 'UTC' }) // a zone this browser does not know
    }
    made.set(key, found)
  }
  return found
}

export const HOUR = 3_600_000
export const DAY = 24 * HOUR

/** A calendar day in a zone, as 2006-01-02. */
export function dayOf(at: Date, zone: string): string {
  return formatter(zone, { year: 'numeric', month: '2-digit', day: '2-digit' }, 'en-CA').format(at)
}

/** The hour of the day in a zone, 0 to 23. */
export function hourOf(at: Date, zone: string): number {
  return Number(formatter(zone, { hour: '2-digit', hourCycle: 'h23' }, 'en-GB').format(at))
}

/** Whole calendar days from a to b, both as 2006-01-02. */
export function daysBetween(a: string, b: string): number {
  return Math.round((Date.parse(`${b}T00:00:00Z`) - Date.parse(`${a}T00:00:00Z`)) / DAY)
}

/** Months are counted in days: a calendar month is 30.44 days on average. */
export function monthsBetween(a: string, b: string): number {
  return daysBetween(a, b) / 30.44
}

/** A day of a record moved by so many months; kept inside the shorter month. */
export function addMonths(day: string, months: number): string {
  const [year = 1970, month = 1, date = 1] = day.split('-').map(Number)
  const whole = Math.floor(months)
  const first = new Date(Date.UTC(year, month - 1 + whole, 1))
  const last = new Date(Date.UTC(first.getUTCFullYear(), first.getUTCMonth() + 1, 0)).getUTCDate()
  first.setUTCDate(Math.min(date, last))
  return new Date(first.getTime() + Math.round((months - whole) * 30.44) * DAY).toISOString().slice(0, 10)
}

/** 19:05 or 7:05 PM. */
export function clock(at: Date, zone: string, locale?: string): string {
  return formatter(zone, { hour: 'numeric', minute: '2-digit' }, locale).format(at)
}

/** Wed 25 Nov; with the year where it is not this one. */
export function shortDay(at: Date, zone: string, now: Date, locale?: string): string {
  const sameYear = dayOf(at, zone).slice(0, 4) === dayOf(now, zone).slice(0, 4)
  const options: Intl.DateTimeFormatOptions = { weekday: 'short', day: 'numeric', month: 'short' }
  if (!sameYear) options.year = 'numeric'
  return formatter(zone, options, locale).format(at)
}

export function weekday(at: Date, zone: string, locale?: string): string {
  return formatter(zone, { weekday: 'long' }, locale).format(at)
}

/** The narrow axis label of a chart: a weekday's letter and date. */
export function axisDay(at: Date, zone: string, locale?: string): string {
  return formatter(zone, { day: 'numeric', month: 'short' }, locale).format(at)
}

/** A record's day (2006-01-02) as people write it. */
export function writtenDay(day: string, locale?: string): string {
  return formatter('UTC', { day: 'numeric', month: 'short', year: 'numeric' }, locale).format(
    new Date(`${day}T12:00:00Z`),
  )
}

/** 2 March: a record's day; with the year where that is not today's, if today is given. */
export function dayAndMonth(day: string, locale?: string, today = day): string {
  const options: Intl.DateTimeFormatOptions = { day: 'numeric', month: 'long' }
  if (day.slice(0, 4) !== today.slice(0, 4)) options.year = 'numeric'
  return formatter('UTC', options, locale).format(new Date(`${day}T12:00:00Z`))
}

/** Mar: the month of a record's day, above a column. */
export function monthName(day: string, locale?: string): string {
  return formatter('UTC', { month: 'short' }, locale).format(new Date(`${day}T12:00:00Z`))
}

export type PartOfDay = 'morning' | 'noon' | 'afternoon' | 'evening' | 'night'

export function partOfDay(hour: number): PartOfDay {
  if (hour < 5 || hour >= 22) return 'night'
  if (hour < 11) return 'morning'
  if (hour < 14) return 'noon'
  if (hour < 17) return 'afternoon'
  return 'evening'
}
