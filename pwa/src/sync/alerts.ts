import { readable, type Readable } from 'svelte/store'

export type AlertsState =
  | { state: 'unsupported'; why: 'browser' | 'install' | 'insecure' } // install: iOS wants the app on the home screen
  | { state: 'off' }
  | { state: 'denied' } // the browser's own setting says no
  | { state: 'on'; lastConfirmedAt: string | null; lastSentAt: string | null; lastStatus: number | null }

export const alerts: Readable<AlertsState | undefined> = readable(undefined)

/** Asks for permission and subscribes: call it from a tap. Throws a Refusal with a sentence. */
export async function allowAlerts(): Promise<void> {
  throw new Error('allowAlerts')
}

export async function disallowAlerts(): Promise<void> {
  throw new Error('disallowAlerts')
}

/** Sends one to this device now and answers what the push service said. */
export async function testAlert(): Promise<{ status: number }> {
  throw new Error('testAlert')
}
