/**
 * What a sitter's phone keeps: the passes that were opened on it, what there
 * is to do, and what was noted until a server has it. It is a database of its
 * own: a phone may be its owner's and hold somebody's pass as well, and
 * neither sees anything of the other.
 */
import { Dexie, liveQuery, type EntityTable, type Observable, type Table } from 'dexie'
import type { PassStop, PassView } from '../sync/passes'
import type { Entry, EntryDraft, Problem } from '../types'
import { checkEntry } from './check'
import { newId } from './ids'
import type { Picture } from './picture'

/** Where a pass stands: new until its first view is here. */
export type PassState = 'new' | 'good' | 'unknown' | 'revoked' | 'over'

export interface PassRow {
  secret: string
  device: string // a name for this phone, made for this pass alone
  state: PassState
  view: PassView | null
  seenAt: number // when the view was fetched, Unix milliseconds of this phone
  correction: number // what to add to this phone's clock to get the server's, in milliseconds
  openedAt: number
}

/** Something that the sitter noted. It is shown as noted once it is here. */
export interface NotedRow {
  position: number // the order in which they are sent
  id: string
  pass: string // the secret
  entry: Entry
  state: 'waiting' | 'sent' | 'refused'
  offered: 0 | 1 // whether a server may have it
  sentence: string
}

/** A step of the walk: as the view has it, or one of ours around it. */
export type StepName = 'find' | 'shut' | `${number}` | `${number} then`

/** Where on a visit somebody is. */
export interface Spot {
  stop: number
  step: StepName
}

export interface Taken extends Spot {
  said: string
  felt?: Entry['feel']
  entries: string[] // ids of what was noted with it
}

/** A visit that has begun: it is walked to its end as it was, whatever is worked out meanwhile. */
export interface WalkRow {
  pass: string
  date: string // of the visit, in the room's zone
  from: string
  to: string
  stops: PassStop[]
  at: Spot
  taken: Taken[] // the steps behind, the last one last
  skipped: string[] // bins that were left as they are
  begunAt: string
  doneAt: string // empty until it is
}

/** The bytes of a picture: of a bin, or taken by the sitter. */
export interface PassPictureRow {
  pass: string
  name: string
  data: ArrayBuffer
  state: 'fetched' | 'waiting' | 'sent' | 'refused'
  sentence: string
}

export class SitterDatabase extends Dexie {
  passes!: Table<PassRow, string>
  noted!: EntityTable<NotedRow, 'position'>
  walks!: Table<WalkRow, [string, string]>
  pictures!: Table<PassPictureRow, [string, string]>

  constructor(name = 'underlog-pass') {
    super(name, { chromeTransactionDurability: 'strict' })
    this.version(1).stores({
      passes: 'secret, openedAt',
      noted: '++position, id, [pass+state]',
      walks: '[pass+date]',
      pictures: '[pass+name], [pass+state]',
    })
  }
}

/** A pass on this phone: what it was shown, and what was done by it. */
export class PassBook {
  constructor(
    readonly db: SitterDatabase,
    readonly secret: string,
  ) {}

  /** The pass as this phone has it; made on first opening. */
  async open(): Promise<PassRow> {
    const openedAt = Date.now()
    return this.db.transaction('rw', this.db.passes, async () => {
      const known = await this.db.passes.get(this.secret)
      const row: PassRow = known ?? {
        secret: this.secret,
        device: newId(),
        state: 'new',
        view: null,
        seenAt: 0,
        correction: 0,
        openedAt,
      }
      await this.db.passes.put({ ...row, openedAt })
      return row
    })
  }

  row(): Observable<PassRow | undefined> {
    return liveQuery(() => this.db.passes.get(this.secret))
  }

  walks(): Observable<WalkRow[]> {
    return liveQuery(() =>
      this.db.walks
        .where('[pass+date]')
        .between(...this.#all())
        .toArray(),
    )
  }

  noted(): Observable<NotedRow[]> {
    return liveQuery(() =>
      this.db.noted
        .where('[pass+state]')
        .between(...this.#all())
        .sortBy('position'),
    )
  }

  #all(): [[string, unknown], [string, unknown]] {
    return [
      [this.secret, Dexie.minKey],
      [this.secret, Dexie.maxKey],
    ]
  }

  async keepView(view: PassView, correction: number): Promise<void> {
    await this.db.passes.update(this.secret, { state: 'good', view, seenAt: Date.now(), correction })
  }

  /**
   * The server says that the pass is none any more. What it showed goes from
   * this phone; what was noted and not sent stays, to be read out.
   */
  async end(state: 'unknown' | 'revoked' | 'over'): Promise<void> {
    const { db, secret } = this
    await db.transaction('rw', db.passes, db.walks, db.pictures, db.noted, async () => {
      await db.passes.update(secret, state === 'over' ? { state } : { state, view: null })
      if (state === 'over') return // what happened on the trip is still taken for a while
      await db.walks
        .where('[pass+date]')
        .between(...this.#all())
        .delete()
      await db.pictures.where('[pass+state]').equals([secret, 'fetched']).delete()
      await db.noted.where('[pass+state]').equals([secret, 'sent']).delete()
    })
  }

  /** Writes what was noted and how far the walk has come, in one transaction. */
  async note(
    drafts: (EntryDraft & { id?: string })[],
    walk: WalkRow | null,
    picture: Picture | null = null,
  ): Promise<{ entries: Entry[]; problems: Problem[] }> {
    const { db, secret } = this
    const { device, correction } = (await db.passes.get(secret)) ?? { device: '', correction: 0 }
    const now = Date.now() + correction
    const entries = drafts.map(
      (draft): Entry => ({ id: newId(now), at: new Date(now).toISOString(), device, ...draft }) as Entry,
    )
    const problems = entries.flatMap((entry) => checkEntry(entry, now))
    if (problems.length > 0) return { entries: [], problems }
    await db.transaction('rw', db.noted, db.walks, db.pictures, async () => {
      for (const entry of entries) await db.noted.add(this.#waiting(entry))
      if (walk) {
        const last = walk.taken[walk.taken.length - 1]
        if (last && entries.length > 0) last.entries = entries.map((entry) => entry.id)
        await db.walks.put(walk)
      }
      if (picture)
        await db.pictures.put({
          pass: secret,
          name: picture.name,
          data: picture.full.slice().buffer,
          state: 'waiting',
          sentence: '',
        })
    })
    return { entries, problems: [] }
  }

  /** Takes the last step back: what it noted is struck, or forgotten where no server can have it yet. */
  async takeBack(walk: WalkRow): Promise<void> {
    const { db, secret } = this
    const last = walk.taken[walk.taken.length - 1]
    if (!last) return
    const { device, correction } = (await db.passes.get(secret)) ?? { device: '', correction: 0 }
    const now = Date.now() + correction
    await db.transaction('rw', db.noted, db.walks, async () => {
      for (const id of last.entries) {
        const row = await db.noted.where('id').equals(id).first()
        if (!row || row.state === 'refused') continue
        if (row.state === 'waiting' && !row.offered) {
          await db.noted.delete(row.position)
          continue
        }
        const { bin } = row.entry
        const strike = { id: newId(now), at: new Date(now).toISOString(), device, what: 'strike', struck: id }
        await db.noted.add(this.#waiting({ ...strike, ...(bin ? { bin } : {}) } as Entry))
      }
      const { stop, step } = last
      const skipped = walk.skipped.filter((bin) => bin !== walk.stops[stop]?.bin)
      await db.walks.put({ ...walk, at: { stop, step }, taken: walk.taken.slice(0, -1), skipped, doneAt: '' })
    })
  }

  #waiting(entry: Entry): Omit<NotedRow, 'position'> {
    return { id: entry.id, pass: this.secret, entry, state: 'waiting', offered: 0, sentence: '' }
  }
}
