/** A bin that is being written: where it starts from, and what was changed. Pure. */
import type { Bin } from '../types'

export type BinFields = Omit<Bin, 'id'>

/** A new bin beside the last one, or where somebody asked for it, on the first free place to the right. */
export function newBin(
  all: Bin[],
  tub: Bin,
  today: string,
  wish: { rack?: string; shelf?: number } = {},
): Bin {
  const last = all[all.length - 1]
  const rack = wish.rack ?? last?.rack ?? ''
  const shelf = wish.shelf ?? last?.shelf ?? 1
  const positions = all.filter((one) => one.rack === rack && one.shelf === shelf).map((one) => one.position)
  return {
    ...structuredClone(tub),
    id: '',
    name: '',
    kind: '',
    line: undefined,
    note: undefined,
    rack,
    shelf,
    position: Math.max(0, ...positions) + 1,
    substrate_renewed: today,
  }
}

/** What another bin stands where this one would. */
export function standsThere(all: Bin[], bin: Bin): Bin | undefined {
  return all.find(
    (one) =>
      one.id !== bin.id &&
      one.rack === bin.rack.trim() &&
      one.shelf === bin.shelf &&
      one.position === bin.position,
  )
}

/** The fields of a new record: what was left empty is left out. */
export function filled(bin: Bin): BinFields {
  const { id: _id, ...fields } = bin
  const kept = Object.entries(tidy(fields)).filter(([, value]) => value !== '' && value !== undefined)
  return Object.fromEntries(kept) as unknown as BinFields
}

/**
 * Only what was changed, so that another device's edit of another field stays.
 * What was emptied is null: left out, it would mean unchanged.
 */
export function changed(before: Bin, after: Bin): Record<string, unknown> {
  const old = before as unknown as Record<string, unknown>
  const now = tidy(after) as unknown as Record<string, unknown>
  const edits: Record<string, unknown> = {}
  for (const name of new Set([...Object.keys(old), ...Object.keys(now)])) {
    if (name === 'id' || JSON.stringify(old[name]) === JSON.stringify(now[name])) continue
    edits[name] = now[name] === undefined || now[name] === '' ? null : now[name]
  }
  return edits
}

function tidy<T extends BinFields>(fields: T): T {
  return { ...fields, name: fields.name.trim(), rack: fields.rack.trim() }
}

/** Whether a half-typed tub has measures that can be drawn. */
export function isDrawable(bin: Bin): boolean {
  return [bin.length_mm, bin.width_mm, bin.height_mm, bin.substrate_depth_mm].every(
    (x) => Number.isFinite(x) && x > 0,
  )
}
