import type { Sheet, Stamp, Stamped } from '../types'

/**
 * A hybrid logical clock (Kulkarni, Demirbas, Madappa, Avva, Leone 2014,
 * "Logical Physical Clocks"), the same as husbandry.NextStamp: 12 hex digits
 * of Unix milliseconds, 4 of a counter, the device; later edits sort later.
 * testdata/stamps.json holds both implementations to the same answers.
 */
const pattern = /^([0-9a-f]{12})-([0-9a-f]{4})-[a-z0-9]{1,40}$/

/** A stamp for an edit on device at now (Unix milliseconds), later than seen even where the clock lags behind. */
export function nextStamp(now: number, device: string, seen: Stamp): Stamp {
  let millis = Math.floor(now)
  let count = 0
  const parts = pattern.exec(seen)
  if (parts) {
    const seenMillis = parseInt(parts[1]!, 16)
    if (seenMillis >= millis) {
      millis = seenMillis
      count = parseInt(parts[2]!, 16) + 1
      if (count > 0xffff) {
        millis += 1
        count = 0
      }
    }
  }
  return `${millis.toString(16).padStart(12, '0')}-${count.toString(16).padStart(4, '0')}-${device}`
}

/** The later of two stamps; an unreadable one counts as none. */
export function laterStamp(a: Stamp, b: Stamp): Stamp {
  if (!pattern.test(b)) return a
  if (!pattern.test(a)) return b
  return a > b ? a : b
}

function isLater(a: Stamped, b: Stamped): boolean {
  if (a.s !== b.s) return a.s > b.s
  return JSON.stringify(a.v) > JSON.stringify(b.v)
}

/** Takes over every field of theirs that was edited later; ours is not changed. */
export function merge(ours: Sheet | undefined, theirs: Sheet): Sheet {
  const fields = { ...ours?.fields }
  for (const [name, field] of Object.entries(theirs.fields)) {
    const mine = fields[name]
    if (!mine || isLater(field, mine)) fields[name] = field
  }
  return { sheet: theirs.sheet, id: theirs.id, fields }
}

/** The values of a sheet without their stamps, with its id. */
export function flat<T extends { id: string }>(sheet: Sheet): T {
  const record: Record<string, unknown> = { id: sheet.id }
  for (const [name, field] of Object.entries(sheet.fields)) record[name] = field.v
  return record as unknown as T
}
