import type { Bin, Entry, EntryDraft, Problem, SheetSort } from '../types'

/** The answer to a wish to record something: done, or what is wrong with it. */
export type Logged<T> = { ok: true; record: T } | { ok: false; problems: Problem[] }

/** Writes entries and their place in the outbox in one transaction; resolves when the database says complete. */
export async function log(..._drafts: EntryDraft[]): Promise<Logged<Entry[]>> {
  throw new Error('log')
}

/** Voids an entry (also how a tap is undone). */
export async function strike(_id: string): Promise<Logged<Entry[]>> {
  throw new Error('strike')
}

/** Edits fields of a sheet; only what is named is changed and stamped. */
export async function edit(
  _sheet: SheetSort,
  _id: string,
  _fields: Record<string, unknown>,
): Promise<Logged<string>> {
  throw new Error('edit')
}

/** Makes a new bin and answers its id; every required field must be there. */
export async function createBin(_bin: Omit<Bin, 'id'>): Promise<Logged<string>> {
  throw new Error('createBin')
}

/** Takes a bin out of use; its entries stay. */
export async function removeBin(_id: string): Promise<Logged<string>> {
  throw new Error('removeBin')
}

/** Sends a refused record again as it is (the server may know its bin by now). */
export async function tryAgain(_position: number): Promise<void> {
  throw new Error('tryAgain')
}

/** Replaces a refused record by a mended one. Fields set to null are removed. */
export async function mend(_position: number, _fields: Record<string, unknown>): Promise<Logged<string>> {
  throw new Error('mend')
}

/** Drops a refused record from this device for good. */
export async function discard(_position: number): Promise<void> {
  throw new Error('discard')
}
