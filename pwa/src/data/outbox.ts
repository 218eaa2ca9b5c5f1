import type { Entry, Problem, Sheet } from '../types'
import { db, type OutboxRow } from './db'
import { firstPosition, lastPosition } from './places'

/*
 * The outbox: what waits to be sent, each record in its place, and apart from that what the server would not take.
 */

/** A row that has no place yet. */
export type Unplaced = Omit<OutboxRow, 'position'>

export function waiting(sort: OutboxRow['sort'], record: Entry | Sheet, correction: number): Unplaced {
  return {
    name: sort === 'entry' ? record.id : '',
    id: record.id,
    sort,
    record,
    attempts: 0,
    since: new Date(Date.now() + correction).toISOString(),
    correction,
  }
}

/** Puts records behind all others and behind all that was ever sent, in their order. Within a transaction. */
export async function post(rows: Unplaced[]): Promise<void> {
  const [last, offered = 0] = await Promise.all([lastPosition(db), db.get('offered')])
  const before = Math.max(last, offered, 0)
  await db.outgoing.bulkAdd(rows.map((row, i) => ({ ...row, position: before + 1 + i })))
}

/** Puts records before all others, in their order. Within a transaction. */
export async function postFirst(rows: Unplaced[]): Promise<void> {
  const behind = await firstPosition(db)
  await db.outgoing.bulkAdd(rows.map((row, i) => ({ ...row, position: behind - rows.length + i })))
}

/** What the server will not take leaves the outbox and stays here, with the reason. Within a transaction. */
export async function setAside(row: OutboxRow, problems: Problem[], sentence: string): Promise<void> {
  await Promise.all([db.refused.put({ ...row, problems, sentence }), db.outgoing.delete(keyOf(row))])
}

/** Sends a refused record again as it is, in its old place (the server may know its bin by now). */
export async function tryAgain(position: number): Promise<void> {
  await db.write(async () => {
    const refused = await db.refused.get(position)
    if (!refused) return
    const { problems: _problems, sentence: _sentence, ...row } = refused
    await Promise.all([db.outgoing.put(row), db.refused.delete(position)])
  })
}

/** Records that, as far as this device knows, nobody else has: waiting or refused. */
export async function unsentRecords(): Promise<OutboxRow[]> {
  const rows = await Promise.all([db.outgoing.toArray(), db.refused.toArray()])
  return rows.flat().sort((a, b) => a.position - b.position)
}

export async function countUnsent(): Promise<number> {
  const [waits, refused] = await Promise.all([db.outgoing.count(), db.refused.count()])
  return waits + refused
}

export function keyOf({ position, name }: Pick<OutboxRow, 'position' | 'name'>): [number, string] {
  return [position, name]
}
