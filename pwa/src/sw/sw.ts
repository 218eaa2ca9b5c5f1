/**
 * The service worker: starts the app without a network, shows alerts, and
 * writes what an alert's button says into the same outbox as a tap in the app.
 */
import { clientsClaim } from 'workbox-core'
import { cleanupOutdatedCaches, createHandlerBoundToURL, precacheAndRoute } from 'workbox-precaching'
import { NavigationRoute, registerRoute } from 'workbox-routing'
import { drainAlone } from '../sync/courier'
import { confirmSubscription } from './subscription'
import { answerFromEngineCache, isEngineFile, keepEngine } from './engine'
import { withdrawSettled } from '../data/told'
import { db } from '../data/db'
import { answer, isKnownSettled, notificationOf, pathOf, settledOf, textOf } from './notification'

declare const self: ServiceWorkerGlobalScope & { __WB_MANIFEST: { url: string; revision: string | null }[] }

// The shell, complete, or not at all: a version is either wholly here or not installed.
precacheAndRoute(self.__WB_MANIFEST)
cleanupOutdatedCaches()
clientsClaim() // at the first install: a later version waits until the person agrees

// Every address of the app is one page. The server's own answers are never replaced by it.
registerRoute(
  new NavigationRoute(createHandlerBoundToURL('index.html'), { denylist: [/^\/api\//, /^\/_(\/|$)/] }),
)

// The second tier: the engine, kept once it has been used.
registerRoute(
  ({ url, sameOrigin }) => sameOrigin && isEngineFile(url),
  ({ request }) => answerFromEngineCache(request),
)

// What a page says: the person agreed to the new version; the engine is in use.
self.addEventListener('message', (event) => {
  const { type } = (event.data ?? {}) as { type?: string }
  if (type === 'take-over') event.waitUntil(self.skipWaiting())
  if (type === 'keep-engine') event.waitUntil(keepEngine())
})

// Every push shows something: browsers take the permission away from sites that stay silent.
self.addEventListener('push', (event) => event.waitUntil(show(textOf(event))))

const LEARN_MS = 15_000 // browsers end a worker that takes much longer over a push

/** Shows a message, and then looks whether somebody settled its matter meanwhile. */
async function show(text: string | undefined): Promise<void> {
  const told = notificationOf(text)
  const known = await isKnownSettled(told)
  const { title, options } = known ? settledOf(told) : told
  await self.registration.showNotification(title, options)
  await setBadge(told.badge)
  await Promise.race([drainAlone(), new Promise((done) => setTimeout(done, LEARN_MS))]).catch(() => undefined)
  // Whoever answered it or wiped it away meanwhile is not shown it again.
  const isThere = (await self.registration.getNotifications({ tag: options.tag ?? '' })).length > 0
  if (!known && isThere && (await isKnownSettled(told))) {
    const done = settledOf(told) // takes the other's place, by its tag
    await self.registration.showNotification(done.title, done.options)
  }
}

self.addEventListener('notificationclick', (event) => {
  event.notification.close()
  const { data } = event.notification
  if (event.action) event.waitUntil(settle(event.action, data))
  else event.waitUntil(open(pathOf(data)))
})

/** Writes the entry first, which needs no network; sending it may fail and is then tried again later. */
async function settle(action: string, data: unknown): Promise<void> {
  if (!(await answer(action, data))) return open(pathOf(data))
  await withdrawSettled(self.registration).catch(() => undefined)
  const badge = (await db.get('badge')) ?? 0
  if (badge > 0) await setBadge(badge - 1)
  await drainAlone().catch(() => self.registration.sync?.register('exchange').catch(() => undefined))
}

/** The number on the app's sign, where the platform has one. */
async function setBadge(count: number | undefined): Promise<void> {
  if (count === undefined) return
  await db.set({ badge: count }).catch(() => undefined)
  await (count > 0 ? navigator.setAppBadge?.(count) : navigator.clearAppBadge?.())?.catch(() => undefined)
}

async function open(path: string): Promise<void> {
  const pages = await self.clients.matchAll({ type: 'window', includeUncontrolled: true })
  const page = pages[0]
  if (!page) return void (await self.clients.openWindow(path))
  await page.focus()
  page.postMessage({ type: 'go', path }) // the page may hold a half-filled sheet: it decides, no reload
}

// Background Sync, where the browser has it: the outbox leaves without the app being open.
self.addEventListener('sync', (event) => {
  if (event.tag === 'exchange') event.waitUntil(drainAlone().then(() => withdrawSettled(self.registration)))
})

self.addEventListener('pushsubscriptionchange', (event) =>
  event.waitUntil(confirmSubscription(self.registration)),
)
