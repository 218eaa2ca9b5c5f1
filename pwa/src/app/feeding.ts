/** A feeding of several bins: what is asked of the engine, what is logged, and how it is taken back. */
import { log, type Logged } from '../data/log'
import { db } from '../data/db'
import type { Bin, Entry, EntryDraft, Feeding, FeedingBin, FeedingOrder, Food, Pick } from '../types'
import { shelfOf } from '../words/en'
import { pick as reasons } from '../words/en.feeding'
import { foodName } from '../words/phrases'
import { dayAndMonth } from '../words/when'

/** The rows of a feeding that are fed, with what the keeper changed of the pieces. */
export function draftsOf(plan: Feeding, pieces: Record<string, number>): EntryDraft[] {
  return plan.bins.flatMap(({ bin, state, pick }) => {
    const drafts: EntryDraft[] = []
    if (state === 'feed' && pick?.food)
      drafts.push({ what: 'feed', bin, food: pick.food, pieces: pieces[bin] ?? pick.pieces ?? 1 })
    if ((state === 'feed' || state === 'look first' || state === 'nothing') && pick?.calcium)
      drafts.push({ what: 'feed', bin, food: pick.calcium, pieces: 1 })
    return drafts
  })
}

/** What to get ready, with the pieces that the keeper changed. */
export function boardOf(plan: Feeding, pieces: Record<string, number>): Feeding['board'] {
  const totals = new Map(plan.board.map((one) => [one.food, { ...one, pieces: 0 }]))
  for (const draft of draftsOf(plan, pieces)) {
    const total = totals.get(draft.food!)
    if (total) total.pieces += draft.pieces ?? 1
  }
  return [...totals.values()]
}

export function fedBins(plan: Feeding): FeedingBin[] {
  return plan.bins.filter((row) => row.state === 'feed' && row.pick?.food)
}

/** Logs it all, or nothing: one transaction. */
export function logFeeding(plan: Feeding, pieces: Record<string, number>): Promise<Logged<Entry[]>> {
  return log(...draftsOf(plan, pieces))
}

/** Takes a whole feeding back, in one transaction. What was struck meanwhile stays so. */
export async function strikeFeeding(entries: Entry[]): Promise<Logged<Entry[]>> {
  const ids = entries.map((entry) => entry.id)
  const struck = new Set((await db.entries.where('struck').anyOf(ids).toArray()).map((row) => row.struck))
  const left = entries.filter((entry) => !struck.has(entry.id))
  if (left.length === 0) return { ok: true, record: [] }
  return log(
    ...left.map((entry): EntryDraft => ({
      what: 'strike',
      struck: entry.id,
      ...(entry.bin ? { bin: entry.bin } : {}),
    })),
  )
}

/** The reason for a pick, in one line. */
export function sayPick(pick: Pick, foods: Food[], locale?: string): string {
  if (!pick.food) return reasons.none
  return reasons.next(foodName(pick.food, foods), whyOf(pick, locale))
}

export function whyOf(pick: Pick, locale?: string): string[] {
  return (pick.why ?? []).map((code) => {
    switch (code) {
      case 'protein':
        return reasons.protein(pick.share ?? 0.25)
      case 'variety':
        return reasons.variety(pick.days ?? 0)
      case 'use first':
        return reasons['use first'](pick.use_by ? dayAndMonth(pick.use_by, locale) : '')
      default:
        return reasons[code]()
    }
  })
}

/** The bins that a choice of the list stands for; none is every bin that is due. */
export function inScope(scope: string, bins: Bin[]): string[] {
  const [rack, shelf] = scope === '' ? [] : (JSON.parse(scope) as [string, number?])
  return bins
    .filter((bin) => bin.rack === rack && (shelf === undefined || shelf === null || bin.shelf === shelf))
    .map((bin) => bin.id)
}

/** Racks, and shelves of more than one bin, to choose from. */
export function scopesOf(bins: Bin[]): { value: string; text: string }[] {
  const found = new Map<string, string>()
  for (const { rack } of bins) found.set(JSON.stringify([rack]), rack)
  for (const { rack, shelf } of bins) found.set(JSON.stringify([rack, shelf]), shelfOf(rack, shelf))
  return [...found].map(([value, text]) => ({ value, text })).sort((a, b) => a.text.localeCompare(b.text))
}

export function plainOrder(bins: string[]): FeedingOrder {
  return { bins, foods: [], hand: {}, out: [], anyway: [] }
}
