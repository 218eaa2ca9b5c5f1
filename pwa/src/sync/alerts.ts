import { writable, type Readable } from 'svelte/store'
import { db } from '../data/db'
import { deviceId } from '../data/log'
import { call, Refusal } from './server'
import { ALERTS_ROUTE, tellSubscription } from './subscription'

export type AlertsState =
  | { state: 'unsupported'; why: 'browser' | 'install' | 'insecure' } // install: iOS wants the app on the home screen
  | { state: 'off' }
  | { state: 'denied' } // the browser's own setting says no
  | { state: 'on'; lastConfirmedAt: string | null; lastSentAt: string | null; lastStatus: number | null }

const current = writable<AlertsState | undefined>(undefined)
export const alerts: Readable<AlertsState | undefined> = current

interface ServerSide {
  key: string
  subscribed: boolean
  last_sent_at?: string | null
  last_status?: number | null
}

async function ask(): Promise<ServerSide> {
  return call<ServerSide>(`${ALERTS_ROUTE}?device=${await deviceId()}`)
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
  const not = unsupported()
  if (not) return current.set(not)
  if (Notification.permission === 'denied') return current.set({ state: 'denied' })
  const existing = await subscription()
  if (!existing) return current.set({ state: 'off' })
  const confirmedAt = (await db.get('alertsConfirmedAt')) ?? null
  current.set({ state: 'on', lastConfirmedAt: confirmedAt, lastSentAt: null, lastStatus: null })
  try {
    const server = await ask()
    const fresh = sameKey(existing, server.key) ? existing : await subscribe(server.key, existing)
    await tellSubscription(fresh)
    current.set({
      state: 'on',
      lastConfirmedAt: (await db.get('alertsConfirmedAt')) ?? null,
      lastSentAt: server.last_sent_at || null,
      lastStatus: server.last_status || null,
    })
  } catch {
    // No signal, or signed out: the next start tells the server again.
  }
}

/** Asks for permission and subscribes: call it from a tap. Throws a Refusal with a sentence, or Away. */
export async function allowAlerts(): Promise<void> {
  const not = unsupported()
  if (not) {
    current.set(not)
    throw new Refusal('This browser cannot show alerts for Underlog.')
  }
  const permission = await Notification.requestPermission()
  if (permission !== 'granted') {
    current.set({ state: permission === 'denied' ? 'denied' : 'off' })
    throw new Refusal("Alerts are not allowed: the browser's settings for this site decide that.")
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
export async function testAlert(): Promise<{ status: number }> {
  return call<{ status: number }>(`${ALERTS_ROUTE}/test`, {
    method: 'POST',
    body: { device: await deviceId() },
  })
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
