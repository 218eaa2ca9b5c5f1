import { writable, type Readable } from 'svelte/store'
import { db, type Snooze } from '../data/db'
import { deviceId } from '../data/log'
import type { AlertSettings, AlertSort } from '../types'
import { Away, call, Refusal } from './server'
import { ALERTS_ROUTE, tellSubscription } from './subscription'
import { line as words } from '../words/en.line'

export type AlertsState =
  | { state: 'unsupported'; why: 'browser' | 'install' | 'insecure' } // install: iOS wants the app on the home screen
  | { state: 'off' }
  | { state: 'denied' } // the browser's own setting says no
  | { state: 'on'; lastConfirmedAt: string | null }

const current = writable<AlertsState | undefined>(undefined)
export const alerts: Readable<AlertsState | undefined> = current

/** A sort of alert that is ignored again and again, and how many in a row were. */
export interface AlertOffer {
  sort: AlertSort
  ignored: number
}

/** How alerts stand on this device, as the server last told it; undefined where it has not. */
export interface AlertsAtServer {
  key: string
  subscribed: boolean
  last_sent_at: string | null // the last that the push service took
  answered_at: string | null // the last attempt
  last_status: number | null // what it was answered; 0 is no answer at all
  last_answer: string
  settings: AlertSettings
  round: { at: string; days: string; known: boolean }
  snoozed_until: string | null
  sent_this_week: number
  held_this_week: number
  offers: AlertOffer[]
  contact: string
  has_contact: boolean
  clock_ahead_s: number
}

const told = writable<AlertsAtServer | undefined>(undefined)
export const alertsAtServer: Readable<AlertsAtServer | undefined> = told

async function ask(): Promise<AlertsAtServer> {
  const answer = await call<AlertsAtServer>(`${ALERTS_ROUTE}?device=${await deviceId()}`)
  told.set(answer)
  return answer
}

/** Asks how things stand; throws Away without signal. */
export async function refreshAlerts(): Promise<void> {
  await ask()
}

function unsupported(): AlertsState | null {
  if (!isSecureContext) return { state: 'unsupported', why: 'insecure' }
  if ('PushManager' in self && 'serviceWorker' in navigator && 'Notification' in self) return null
  const apple =
    /iPhone|iPad|iPod/.test(navigator.userAgent) ||
    (/Mac/.test(navigator.userAgent) && navigator.maxTouchPoints > 1)
  const installed = matchMedia('(display-mode: standalone)').matches
  return { state: 'unsupported', why: apple && !installed ? 'install' : 'browser' }
}

async function subscription(): Promise<PushSubscription | null> {
  const registration = await navigator.serviceWorker.getRegistration()
  return (await registration?.pushManager.getSubscription()) ?? null
}

/**
 * Looks how things stand and, where alerts are on, sends the subscription to
 * the server again: subscriptions vanish without a signal.
 */
export async function confirmAlerts(): Promise<void> {
  await sendSnoozes().catch(() => undefined)
  const not = unsupported()
  if (not) return current.set(not)
  if (Notification.permission === 'denied') return current.set({ state: 'denied' })
  const existing = await subscription()
  if (!existing) return current.set({ state: 'off' })
  const confirmedAt = (await db.get('alertsConfirmedAt')) ?? null
  current.set({ state: 'on', lastConfirmedAt: confirmedAt })
  try {
    const { key } = await ask()
    const fresh = sameKey(existing, key) ? existing : await subscribe(key, existing)
    await tellSubscription(fresh)
    current.set({ state: 'on', lastConfirmedAt: (await db.get('alertsConfirmedAt')) ?? null })
  } catch {
    // No signal, or signed out: the next start tells the server again.
  }
}

/** Asks for permission and subscribes: call it from a tap. Throws a Refusal with a sentence, or Away. */
export async function allowAlerts(): Promise<void> {
  const not = unsupported()
  if (not) {
    current.set(not)
    throw new Refusal(words.alertsNever)
  }
  const permission = await Notification.requestPermission()
  if (permission !== 'granted') {
    current.set({ state: permission === 'denied' ? 'denied' : 'off' })
    throw new Refusal(words.alertsForbidden)
  }
  const { key } = await ask()
  const existing = await subscription()
  await tellSubscription(existing && sameKey(existing, key) ? existing : await subscribe(key, existing))
  await confirmAlerts()
}

export async function disallowAlerts(): Promise<void> {
  if (unsupported()) return
  await (await subscription())?.unsubscribe()
  await db.meta.delete('alertsConfirmedAt')
  current.set({ state: 'off' })
  await call(ALERTS_ROUTE, { method: 'DELETE', body: { device: await deviceId() }, timeoutMs: 5000 })
}

/** Sends one to this device now and answers what the push service said. */
export async function testAlert(): Promise<{ status: number; answer: string }> {
  const body = { device: await deviceId() }
  const answer = await call<{ status: number; answer: string }>(`${ALERTS_ROUTE}/test`, {
    method: 'POST',
    body,
  })
  await ask().catch(() => undefined)
  return answer
}

/** Changes what this device is told, and when. Throws a Refusal with a sentence, or Away. */
export async function setAlerts(settings: Partial<AlertSettings>): Promise<void> {
  await call(`${ALERTS_ROUTE}/settings`, { method: 'PUT', body: { device: await deviceId(), settings } })
  await ask()
}

/** Leaves a sort of alert as it is: it is not offered again soon to turn it down. */
export async function keepAlert(sort: AlertSort): Promise<void> {
  await call(`${ALERTS_ROUTE}/keep`, { method: 'POST', body: { device: await deviceId(), sort } })
  await ask()
}

/** Sets how push services can reach whoever runs the server (owner). */
export async function setContact(contact: string): Promise<void> {
  await call(`${ALERTS_ROUTE}/contact`, { method: 'PUT', body: { contact } })
  await ask()
}

/**
 * Has this device told again later: of the feedings and damp sides named, or
 * of everything. Answers when that will be, or null without signal: the wish
 * is kept then, and sent with the next start or exchange.
 */
export async function snooze(wish: Snooze): Promise<string | null> {
  try {
    return await sendSnooze(wish)
  } catch (error) {
    if (!(error instanceof Away)) throw error
    await db.write(async () => db.set({ snoozes: [...((await db.get('snoozes')) ?? []), wish] }))
    return null
  }
}

/** Ends the snooze of everything. */
export async function endSnooze(): Promise<void> {
  await call(`${ALERTS_ROUTE}/snooze`, { method: 'POST', body: { device: await deviceId(), until: '' } })
  await ask()
}

async function sendSnooze(wish: Snooze): Promise<string> {
  const body = { device: await deviceId(), ...wish }
  const { until } = await call<{ until: string }>(`${ALERTS_ROUTE}/snooze`, { method: 'POST', body })
  return until
}

/** Sends the wishes that were kept without signal; what the server refuses is let go. */
export async function sendSnoozes(): Promise<void> {
  for (;;) {
    const [first, ...rest] = (await db.get('snoozes')) ?? []
    if (!first) return
    await sendSnooze(first).catch((error: unknown) => {
      if (error instanceof Away) throw error
    })
    await db.set({ snoozes: rest })
  }
}

async function subscribe(key: string, stale: PushSubscription | null): Promise<PushSubscription> {
  await stale?.unsubscribe()
  const registration = await navigator.serviceWorker.ready
  try {
    return await registration.pushManager.subscribe({
      userVisibleOnly: true,
      applicationServerKey: bytes(key),
    })
  } catch {
    throw new Refusal(
      "The browser's push service gave no subscription. It may be blocked or without signal: try again later.",
    )
  }
}

function sameKey(existing: PushSubscription, key: string): boolean {
  const theirs = existing.options.applicationServerKey
  if (!theirs) return true // not told by this browser
  const ours = bytes(key)
  return new Uint8Array(theirs).every((byte, i) => byte === ours[i])
}

function bytes(base64url: string): Uint8Array<ArrayBuffer> {
  const text = atob(base64url.replace(/-/g, '+').replace(/_/g, '/'))
  return Uint8Array.from(text, (char) => char.charCodeAt(0))
}
