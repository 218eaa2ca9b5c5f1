import { Dexie, type Table } from 'dexie'
import type { Survey } from '../types'

/**
 * The last survey, kept so that the first screen has something to show before
 * the engine has loaded. It is only a copy of what can be computed: it lives
 * in a database of its own, without the outbox's costly durability.
 */
class Scratch extends Dexie {
  kept!: Table<{ key: string; value: unknown }, string>
  constructor() {
    super('underlog-scratch', { chromeTransactionDurability: 'relaxed' })
    this.version(1).stores({ kept: 'key' })
  }
}

const scratch = new Scratch()
const EVERY_MS = 5000
let keptAt = 0
let pending: ReturnType<typeof setTimeout> | undefined

/** Keeps a survey, at most one every few seconds; the latest is never left out. */
export function keepSurvey(survey: Survey): void {
  clearTimeout(pending)
  pending = setTimeout(
    () => {
      keptAt = Date.now()
      scratch.kept.put({ key: 'survey', value: survey }).catch(() => undefined)
    },
    Math.max(0, keptAt + EVERY_MS - Date.now()),
  )
}

export async function lastSurvey(): Promise<Survey | undefined> {
  const row = await scratch.kept.get('survey').catch(() => undefined)
  return row?.value as Survey | undefined
}

export async function forgetSurvey(): Promise<void> {
  await scratch.kept.clear().catch(() => undefined)
}
