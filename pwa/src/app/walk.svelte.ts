/**
 * The walk that is going on: what was asked at each stop
 * and what was logged. It lives as long as the page does; everything that
 * matters is in the entries themselves.
 */
import { log, strike } from '../data/log'
import type { Chore, ChoreSort, EntryDraft } from '../types'
import { problemsText } from '../words/phrases'
import type { Stop } from './round'

/** One answer at a stop: the entries behind it and what they say. */
export interface Said {
  key: string
  text: string
  draft: EntryDraft
  serial: number
  ids: string[]
  pending: boolean
}

const PAUSE_MS = 3 * 3_600_000 // after that long it is another round

/** The keys of the answers that settle a chore for this walk. */
const ANSWERS: Record<ChoreSort, (chore: Chore) => string[]> = {
  feel: () => ['feel', 'water'],
  leftovers: (chore) => [`leftovers ${chore.of ?? ''}`],
  feed: () => ['feed'],
  leaves: () => ['leaves', 'add leaves'],
  renew: () => ['renew', 'substrate'],
  set_up: (chore) => (chore.dose_ml ? ['feel', 'water'] : ['leaves', 'add leaves']),
  escape: () => ['escape'],
  look: () => ['look', 'feel', 'water', 'feed', 'leaves', 'add leaves', 'renew', 'substrate'],
}

class Walk {
  /** What each stop asks: as the forecast has it, until something is answered there. */
  wanted = $state<Record<string, Chore[]>>({})
  said = $state<Record<string, Said[]>>({})
  failed = $state<Record<string, string>>({})
  #touched = 0
  #seen = 0 // by the household's clock, which may not be this device's
  #serial = 0
  #queue: Promise<unknown> = Promise.resolve()

  /** Takes in the stops of a new survey. A question does not vanish under the thumb that answers it. */
  see(list: Stop[], now: Date): void {
    this.#seen = now.getTime()
    if (this.#touched > 0 && now.getTime() - this.#touched > PAUSE_MS) this.end()
    const next: Record<string, Chore[]> = {}
    for (const id of Object.keys(this.wanted)) if (this.isBegun(id)) next[id] = this.wanted[id]!
    for (const stop of list) next[stop.bin.id] ??= stop.wanted
    this.wanted = next
  }

  end(): void {
    this.wanted = {}
    this.said = {}
    this.failed = {}
    this.#touched = 0
  }

  /** Everything that was asked at a stop is answered, or it was looked in on and all was well. */
  isDone(bin: string): boolean {
    if (!this.isBegun(bin)) return false
    return this.answer(bin, 'look') !== undefined || this.open(bin).length === 0
  }

  isBegun(bin: string): boolean {
    return (this.said[bin]?.length ?? 0) > 0
  }

  /** It was felt dry, and nobody has written down that it got water. */
  isThirsty(bin: string): boolean {
    return this.answer(bin, 'feel')?.draft.feel === 'dry' && this.answer(bin, 'water') === undefined
  }

  /** What was asked at a stop and not answered yet. */
  open(bin: string): Chore[] {
    return (this.wanted[bin] ?? []).filter((chore) => {
      if (chore.chore === 'feel' && this.isThirsty(bin)) return true
      return !ANSWERS[chore.chore](chore).some((key) => this.answer(bin, key))
    })
  }

  answer(bin: string, key: string): Said | undefined {
    return this.said[bin]?.find((one) => one.key === key)
  }

  /** Logs an answer; one that was given before under the same key is struck. */
  say(bin: string, key: string, drafts: EntryDraft[], text: string): Promise<boolean> {
    this.#touched = this.#seen || Date.now()
    delete this.failed[bin]
    const serial = ++this.#serial
    const earlier = this.answer(bin, key)
    this.said[bin] = [
      ...this.#without(bin, key),
      { key, text, draft: drafts[0]!, serial, ids: [], pending: true },
    ]
    return this.#inTurn(async () => {
      try {
        const done = await log(...drafts)
        if (!done.ok) throw new Error(problemsText(done.problems))
        const ids = done.record.map((entry) => entry.id)
        // Answered anew while this was being written: the newer one strikes these.
        const mine = this.said[bin]?.find((one) => one.serial === serial)
        if (mine) Object.assign(mine, { ids, pending: false })
        else for (const id of ids) await strike(id)
        for (const id of earlier?.ids ?? []) await strike(id)
      } catch (error) {
        this.failed[bin] = error instanceof Error ? error.message : String(error)
        this.said[bin] = [...this.#without(bin, key), ...(earlier ? [earlier] : [])]
        throw error
      }
    })
  }

  /** Strikes the entries of an answer and forgets it. */
  undo(bin: string, key: string): Promise<boolean> {
    const answer = this.answer(bin, key)
    this.said[bin] = this.#without(bin, key)
    return this.#inTurn(async () => {
      for (const id of answer?.ids ?? []) await strike(id)
    })
  }

  #without(bin: string, key: string): Said[] {
    return (this.said[bin] ?? []).filter((one) => one.key !== key)
  }

  /**
   * Fast thumbs: one answer after the other, so that a correction strikes what it corrects.
   * The writing begins in a task of its own: the picture that answers the touch comes first.
   */
  #inTurn(work: () => Promise<void>): Promise<boolean> {
    const begun = new Promise((resolve) => setTimeout(resolve))
    const turn = Promise.all([this.#queue, begun])
      .then(work)
      .then(
        () => true,
        () => false,
      )
    this.#queue = turn
    return turn
  }
}

export const walk = new Walk()
