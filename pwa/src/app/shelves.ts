/** Bins as they stand on their racks, and what moving one changes. Pure. */
import type { Bin } from '../types'
import { inWalkingOrder } from '../data/order'

export interface RackView {
  rack: string
  shelves: { shelf: number; bins: Bin[] }[]
}

export function shelvesOf(bins: Bin[]): RackView[] {
  const racks: RackView[] = []
  for (const bin of [...bins].sort(inWalkingOrder)) {
    let rack = racks[racks.length - 1]
    if (!rack || rack.rack !== bin.rack) racks.push((rack = { rack: bin.rack, shelves: [] }))
    const shelf = rack.shelves[rack.shelves.length - 1]
    if (shelf && shelf.shelf === bin.shelf) shelf.bins.push(bin)
    else rack.shelves.push({ shelf: bin.shelf, bins: [bin] })
  }
  return racks
}

/** A place to put a bin: left of another, or at the right end of a shelf. */
export interface Slot {
  rack: string
  shelf: number
  before?: string
}

export interface Placement {
  id: string
  rack?: string
  shelf?: number
  position?: number
}

/**
 * The edits that put a bin into a slot. Neighbours move along only where the
 * place is taken, so that labels on the other bins stay right as long as can be.
 */
export function rearrange(bins: Bin[], moved: Bin, slot: Slot): Placement[] {
  const shelf = bins
    .filter((bin) => bin.rack === slot.rack && bin.shelf === slot.shelf && bin.id !== moved.id)
    .sort(inWalkingOrder)
  const at = slot.before ? shelf.findIndex((bin) => bin.id === slot.before) : -1
  const index = at < 0 ? shelf.length : at
  const left = shelf[index - 1]
  const right = shelf[index]
  let position = right
    ? Math.max(left ? left.position + 1 : 1, right.position - 1)
    : left
      ? left.position + 1
      : 1
  // Its own place, seen from the next one: nothing to do.
  if (moved.rack === slot.rack && moved.shelf === slot.shelf) {
    const between = (!left || left.position < moved.position) && (!right || moved.position < right.position)
    if (between) return []
  }
  const changes: Placement[] = [
    {
      id: moved.id,
      ...(moved.rack === slot.rack ? {} : { rack: slot.rack }),
      ...(moved.shelf === slot.shelf ? {} : { shelf: slot.shelf }),
      ...(moved.position === position ? {} : { position }),
    },
  ]
  for (const bin of shelf.slice(index)) {
    if (bin.position > position) break
    position++
    changes.push({ id: bin.id, position })
  }
  return changes
}
