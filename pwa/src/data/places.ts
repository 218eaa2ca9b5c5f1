import type { IndexableType, Table } from 'dexie'
import type { OutboxRow, RefusedRow } from './db'

/** The places of the outbox, in a database that is open or is just brought up to date. Within a transaction. */
interface Tables {
  table(name: string): Table
}

/** The last place in use, of what waits or was refused; -Infinity where there is none. */
export async function lastPosition(db: Tables): Promise<number> {
  const last = (table: string) => db.table(table).reverse().limit(1).primaryKeys()
  return Math.max(...positions(await Promise.all([last('outgoing'), last('refused')])))
}

/** The first place in use; 1 where all are behind that. */
export async function firstPosition(db: Tables): Promise<number> {
  const first = (table: string) => db.table(table).limit(1).primaryKeys()
  return Math.min(1, ...positions(await Promise.all([first('outgoing'), first('refused')])))
}

function positions(keys: IndexableType[][]): number[] {
  return keys.flat(2).filter((part) => typeof part === 'number')
}

interface FormerRow extends Omit<RefusedRow, 'name'> {
  state: 'waiting' | 'refused'
}

/**
 * Takes over what is in the outbox of former versions: when the database is brought up to date, and whatever a tab
 * that still runs such a version writes there and leaves behind. Each keeps its place unless that is taken.
 */
export async function takeOver(db: Tables): Promise<void> {
  const former: FormerRow[] = await db.table('outbox').toArray()
  if (former.length === 0) return
  let before = await lastPosition(db)
  const waits: OutboxRow[] = []
  const refused: RefusedRow[] = []
  for (const { state, problems, sentence, ...row } of former) {
    const position = Math.max(row.position, before + 1)
    before = position
    const kept = { ...row, position, name: row.sort === 'entry' ? row.id : '' }
    if (state === 'waiting') waits.push(kept)
    else refused.push({ ...kept, problems, sentence })
  }
  await db.table('outgoing').bulkAdd(waits)
  await db.table('refused').bulkAdd(refused)
  await db.table('outbox').clear()
}
