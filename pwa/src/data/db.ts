import { Dexie, type Table } from 'dexie'
import type { Honesty } from '../sync/honesty'
import type { Entry, Person, Problem, Sheet, Stamp } from '../types'
import { takeOver } from './places'

/**
 * The local database: what the screens read, and the one place where a tap is
 * kept until a server has acknowledged it.
 *
 * Rows carry two numbers of their own beside the record. arrived counts the
 * transactions that brought records in, so that the engine can ask for what is
 * new. known is the generation of the server's database that has confirmed the
 * record (0: none): when a server comes back from an older backup a new
 * generation begins, and whatever it does not know is offered again.
 */
interface Kept {
  arrived: number
  known: number
}

/** t is at in Unix milliseconds. Strikes have none: lists go by t, and a strike is no line of its own. */
export type EntryRow = Entry & Kept & { t?: number }
export type SheetRow = Sheet & Kept

/** A record that waits to be sent. */
export interface OutboxRow {
  position: number // the order in which records are sent
  /**
   * By which the server can be asked whether it has the record: an entry's id, and '' of the edit of a sheet, which
   * has no name of its own. It is in the row's key, since a browser reads keys much sooner than as many rows.
   */
  name: string
  id: string // of the record
  sort: 'entry' | 'sheet'
  record: Entry | Sheet
  attempts: number // to send it in a request that was refused as a whole
  since: string
  /** The clock's correction (milliseconds) when the record was made. */
  correction: number
}

/** A record that the server would not take, until a person mends it, sends it again or drops it. */
export interface RefusedRow extends OutboxRow {
  problems: Problem[]
  sentence: string
}

/** A photo that was taken on this device: how far it is on its way to the server. */
export interface PhotoRow {
  name: string // the SHA-256 of its bytes
  state: 'waiting' | 'sent' | 'refused'
  bytes: number
  offset: number // bytes that the server has
  sentence: string // why it waits or was refused
  known: number // the generation of the server's database that has it, 0: none
}

/** The bytes of a picture, apart from what is read often. */
export interface PictureRow {
  name: string
  size: 'full' | 'small'
  data: ArrayBuffer
  bytes: number
  kept: 0 | 1 // 1: nobody else has it yet, so it stays whatever room it takes
  usedAt: number
}

/** What the server has of before this device's first exchange, and this device has not. Absent: nothing. */
export interface Load {
  stage: 'recent' | 'older'
  next: string // where to go on, as the server says it
  got: number // entries of this stage
  total: number
  /** Older entries are fetched when somebody wants a page of them, or all. */
  wanted: '' | 'page' | 'all'
}

/** A wish to be told again later: of the feedings and damp sides that it names, or of everything. */
export interface Snooze {
  until: 'tonight' | 'tomorrow'
  of: string[]
  damp: string[]
}

/** Settings of this device, each under its own key. */
export interface Meta {
  device: string
  token: string
  person: Person
  people: Person[]
  epoch: string
  cursor: number
  mark: string // what the server has under the cursor's number
  load: Load
  /** The records that a forecast needs are not all here yet. */
  firstLoad: boolean
  generation: number
  /** A new generation has begun; what the server did not send is to be offered. */
  reoffer: boolean
  /** The last position of the outbox that was ever sent: up to here the server may have the bytes as they are. */
  offered: number
  /** What to add to this device's clock to get the server's, in milliseconds; 0 within two minutes. */
  correction: number
  measuredAt: number // when the clock was last compared, Unix milliseconds of this device
  stamp: Stamp // the latest stamp made or seen
  arrival: number
  rebuild: number // counts removals of records: the engine starts afresh
  lastSentAt: string
  updateNeeded: string
  refreshedAt: number // when the session was last prolonged
  alertsConfirmedAt: string
  honesty: Honesty // as the server last told it
  badge: number // the number on the app's sign
  snoozes: Snooze[] // asked for without signal
}

interface MetaRow {
  key: keyof Meta
  value: unknown
}

export class Database extends Dexie {
  entries!: Table<EntryRow, string>
  sheets!: Table<SheetRow, [string, string]>
  /** The outbox. The table of that name is of former versions. */
  outgoing!: Table<OutboxRow, [number, string]>
  refused!: Table<RefusedRow, number>
  meta!: Table<MetaRow, string>
  photos!: Table<PhotoRow, string>
  pictures!: Table<PictureRow, [string, string]>

  constructor(name = 'underlog') {
    // strict: "saved" is said when the record is on the disk, not in a buffer.
    super(name, { chromeTransactionDurability: 'strict' })
    this.version(1).stores({
      entries: 'id, [bin+t], [what+t], t, struck, arrived',
      sheets: '[sheet+id], sheet, arrived',
      outbox: '++position, id, state',
      meta: 'key',
    })
    this.version(2).stores({
      entries: 'id, [bin+t], [what+t], t, struck, arrived, photo, [bin+photo]',
      photos: 'name, state',
      pictures: '[name+size], [kept+usedAt+bytes]',
    })
    // What went into which bin is traced by batch, mix and thing of the larder.
    this.version(3).stores({
      entries: 'id, [bin+t], [what+t], t, struck, arrived, photo, [bin+photo], batch, mix, item',
    })
    // outbox stays: a tab that still runs a former version goes on writing there and sending from there.
    this.version(4).stores({ outgoing: '[position+name]', refused: 'position, id' }).upgrade(takeOver)
  }

  async get<K extends keyof Meta>(key: K): Promise<Meta[K] | undefined> {
    return (await this.meta.get(key))?.value as Meta[K] | undefined
  }

  async getAll<K extends keyof Meta>(...keys: K[]): Promise<Partial<Pick<Meta, K>>> {
    const rows = await this.meta.bulkGet(keys)
    return Object.fromEntries(rows.flatMap((row) => (row ? [[row.key, row.value]] : []))) as Partial<Meta>
  }

  /** All of them at one question. A live query that asked so would be roused by every change of any. */
  async settings(): Promise<Partial<Meta>> {
    return Object.fromEntries((await this.meta.toArray()).map(({ key, value }) => [key, value]))
  }

  async set(values: Partial<Meta>): Promise<void> {
    await this.meta.bulkPut(Object.entries(values).map(([key, value]) => ({ key: key as keyof Meta, value })))
  }

  /** set, but for what is known to be there already: nobody who follows that is roused for nothing. */
  async setNew(known: Partial<Meta>, values: Partial<Meta>): Promise<void> {
    const isNew = ([key, value]: [string, unknown]) =>
      value !== undefined && JSON.stringify(value) !== JSON.stringify(known[key as keyof Meta])
    await this.set(Object.fromEntries(Object.entries(values).filter(isNew)))
  }

  /** The number of the next arrival; within a transaction that writes meta. */
  async nextArrival(): Promise<number> {
    const arrival = ((await this.get('arrival')) ?? 0) + 1
    await this.set({ arrival })
    return arrival
  }

  /**
   * Runs work as one transaction over all tables of records, and those given. WebKit now and then loses its
   * connection to the database: it is opened again, and the work tried once more.
   */
  async write<T>(work: () => Promise<T>, ...also: Table[]): Promise<T> {
    const tables = [this.entries, this.sheets, this.outgoing, this.refused, this.meta, ...also]
    const attempt = () => this.transaction('rw', tables, work)
    try {
      return await attempt()
    } catch (error) {
      if (!isConnectionLost(error)) throw error
      await this.reopen()
      return await attempt()
    }
  }

  async reopen(): Promise<void> {
    this.close({ disableAutoOpen: false })
    await this.open()
  }

  /** Forgets everything but the name of this device. */
  async empty(): Promise<void> {
    await this.write(
      async () => {
        const device = await this.get('device')
        const rebuild = ((await this.get('rebuild')) ?? 0) + 1
        await Promise.all(this.tables.map((table) => table.clear()))
        await this.set({ ...(device ? { device } : {}), rebuild })
      },
      ...this.tables,
    )
  }
}

export function isConnectionLost(error: unknown): boolean {
  const { name = '', message = '' } = (error ?? {}) as { name?: string; message?: string }
  return name === 'DatabaseClosedError' || /connection[^.]*(lost|closing|closed)/i.test(`${name} ${message}`)
}

export const db = new Database()

/** The record as it travels: without what only this device keeps beside it. */
export function entryOf(row: EntryRow): Entry {
  const { t: _t, arrived: _arrived, known: _known, ...entry } = row
  return entry
}

export function sheetOf(row: SheetRow): Sheet {
  return { sheet: row.sheet, id: row.id, fields: row.fields }
}

export function entryRow(entry: Entry, kept: Kept): EntryRow {
  return entry.what === 'strike' ? { ...entry, ...kept } : { ...entry, ...kept, t: Date.parse(entry.at) }
}
