import { db } from '../data/db'
import { createBin } from '../data/log'
import { limits } from '../data/limits'

/** A device that belongs to somebody, with nothing else on it. */
export async function mustHaveFreshDevice(): Promise<void> {
  await db.empty()
  await db.meta.clear()
  await db.set({
    device: 'd'.repeat(32),
    token: 'token',
    person: { id: 'p'.repeat(15), name: 'Ada', role: 'owner' },
    measuredAt: Date.now(),
  })
}

export async function mustAddBin(name = 'Pied'): Promise<string> {
  const { id: _id, ...tub } = limits.tub
  const done = await createBin({
    ...tub,
    name,
    rack: 'West',
    shelf: 1,
    position: 1,
    kind: 'porcellio-scaber',
  })
  if (!done.ok) throw new Error(JSON.stringify(done.problems))
  return done.record
}
