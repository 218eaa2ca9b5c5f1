import { readable, type Readable } from 'svelte/store'
import type {
  Bin,
  Entry,
  Food,
  Kind,
  LoggedEntry,
  Outlook,
  OutboxState,
  Person,
  Room,
  Session,
  Survey,
  What,
} from '../types'

/**
 * What the screens read. Each store is live: it follows the local database,
 * whoever writes to it (this page, another tab, the service worker). Its value
 * is undefined until the first read has come back, which is never the network.
 */
export const session: Readable<Session | undefined> = readable(undefined)
export const room: Readable<Room | undefined> = readable(undefined)
/** Bins in use, in walking order: rack, shelf, position. */
export const bins: Readable<Bin[] | undefined> = readable(undefined)
/** By name. */
export const kinds: Readable<Kind[] | undefined> = readable(undefined)
export const foods: Readable<Food[] | undefined> = readable(undefined)
export const people: Readable<Person[] | undefined> = readable(undefined)
export const outboxState: Readable<OutboxState | undefined> = readable(undefined)

/** The newest entries of a bin, newest first; strikes are not listed, what they struck is void. */
export function entriesOf(_bin: string, _limit = 100): Readable<LoggedEntry[] | undefined> {
  return readable(undefined)
}

/** One entry by its id (a feeding, for its leftovers). */
export function entry(_id: string): Readable<Entry | null | undefined> {
  return readable(undefined)
}

export interface NotebookFilter {
  bin?: string
  what?: What[]
  by?: string
  text?: string
}

/** A page of everything logged, newest first: 0 is the first page of 50. more: there is another page. */
export function notebook(
  _filter: NotebookFilter,
  _page: number,
): Readable<{ entries: LoggedEntry[]; more: boolean } | undefined> {
  return readable(undefined)
}

/**
 * The chores and the state of every bin. The last known survey is shown at
 * once (with its own time in at); the engine's comes when it has loaded.
 */
export const survey: Readable<Survey | undefined> = readable(undefined)

/** Whether the engine computes: missing says that it could not be loaded (and why is in the console). */
export const engineState: Readable<'loading' | 'ready' | 'missing'> = readable('loading')

/** What the page of one bin shows; undefined until the engine has it. */
export function outlook(_bin: string): Readable<Outlook | undefined> {
  return readable(undefined)
}
