import { checkEntry, checkSheet, sentence } from '../data/check'
import { db, entryRow } from '../data/db'
import { correctedNow } from '../data/clock'
import { limits } from '../data/limits'
import { post, unsentRecords, waiting, type Unplaced } from '../data/outbox'
import { takePhoto, unsentPhotos, type SavedPhoto } from '../data/photos'
import { merge } from '../data/stamp'
import type { Entry, Sheet } from '../types'
import { line as words } from '../words/en.line'

/** The unsent records as a file to keep: JSON lines, one record each, entries as in the book. */
export async function saveUnsent(): Promise<Blob> {
  const lines = [
    ...(await unsentRecords()).map((row) => JSON.stringify({ type: row.sort, ...row.record })),
    ...(await unsentPhotos()).map((photo) => JSON.stringify({ type: 'photo', ...photo })),
  ]
  return new Blob(
    lines.map((line) => `${line}\n`),
    { type: 'application/jsonl' },
  )
}

export interface TakenIn {
  taken: number
  already: number
  problems: { line: number; sentence: string }[]
}

/**
 * Reads such a file back in, on this device or another of the household. The
 * records keep their ids, so that what has been sent meanwhile is known again
 * and stored once. Lines that are not right are named and left out.
 */
export async function readUnsent(file: Blob): Promise<TakenIn> {
  const [text, now] = await Promise.all([file.text(), correctedNow()])
  const found: TakenIn = { taken: 0, already: 0, problems: [] }
  const sound: (Entry | Sheet)[] = []
  for (const [i, line] of text.split('\n').entries()) {
    if (line.trim() === '') continue
    const photo = photoOf(line)
    if (photo) {
      if (!(await takePhoto(photo))) found.problems.push({ line: i + 1, sentence: words.photoDamaged })
      continue
    }
    const record = parse(line, now)
    if (typeof record === 'string') found.problems.push({ line: i + 1, sentence: record })
    else sound.push(record)
  }
  await db.write(async () => {
    const arrived = await db.nextArrival()
    const correction = (await db.get('correction')) ?? 0
    const taken: Unplaced[] = []
    for (const record of sound) {
      const isNew = 'fields' in record ? await putSheet(record, arrived) : await putEntry(record, arrived)
      if (!isNew) {
        found.already += 1
        continue
      }
      taken.push(waiting('fields' in record ? 'sheet' : 'entry', record, correction))
    }
    await post(taken)
    found.taken = taken.length
  })
  return found
}

function photoOf(line: string): SavedPhoto | null {
  try {
    const { type, name, jpeg } = JSON.parse(line) as Record<string, unknown>
    return type === 'photo' ? { name: String(name), jpeg: String(jpeg) } : null
  } catch {
    return null
  }
}

/** The record of a line, or what is wrong with it. */
function parse(line: string, now: number): Entry | Sheet | string {
  let given: Record<string, unknown>
  try {
    given = JSON.parse(line) as Record<string, unknown>
  } catch {
    return 'It is not JSON: give one whole record on each line.'
  }
  if (given === null || typeof given !== 'object' || typeof given['id'] !== 'string')
    return 'It has no id: give a record as this app saved it.'
  const { type, ...record } = given
  if (type === 'entry') {
    const problems = checkEntry(record as Partial<Entry>, now)
    return problems[0] ? sentence(problems[0]) : (record as unknown as Entry)
  }
  if (type === 'sheet') {
    const sheet = record as unknown as Sheet
    if (!(sheet.sheet in limits.sheets) || typeof sheet.fields !== 'object')
      return 'It is no sheet: give a record as this app saved it.'
    const values = Object.fromEntries(Object.entries(sheet.fields).map(([name, field]) => [name, field?.v]))
    const problems = checkSheet(sheet.sheet, values, now)
    return problems[0] ? sentence(problems[0]) : sheet
  }
  return `type is ${JSON.stringify(type) ?? 'missing'}: give entry or sheet. The book of a room is read in under The room as a file.`
}

async function putEntry(entry: Entry, arrived: number): Promise<boolean> {
  if (await db.entries.get(entry.id)) return false
  await db.entries.put(entryRow(entry, { arrived, known: 0 }))
  return true
}

async function putSheet(sheet: Sheet, arrived: number): Promise<boolean> {
  const mine = await db.sheets.get([sheet.sheet, sheet.id])
  const has = Object.entries(sheet.fields).every(([name, field]) => (mine?.fields[name]?.s ?? '') >= field.s)
  if (mine && has) return false
  await db.sheets.put({ ...merge(mine, sheet), arrived, known: mine?.known ?? 0 })
  return true
}
