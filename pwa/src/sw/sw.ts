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
import { allGone, notificationOf, stopOf } from './notification'

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
self.addEventListener('push', (event) => {
  const { title, options } = notificationOf(event.data?.text())
  event.waitUntil(self.registration.showNotification(title, options))
})

self.addEventListener('notificationclick', (event) => {
  event.notification.close()
  const { data } = event.notification
  if (event.action === 'all-gone') event.waitUntil(settle(data))
  else event.waitUntil(open(stopOf(data)))
})

/** Writes the entry first, which needs no network; sending it may fail and is then tried again later. */
async function settle(data: unknown): Promise<void> {
  const written = await allGone(data)
  if (!written) return open(stopOf(data))
  await drainAlone().catch(() => self.registration.sync?.register('exchange').catch(() => undefined))
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
  if (event.tag === 'exchange') event.waitUntil(drainAlone())
})

self.addEventListener('pushsubscriptionchange', (event) =>
  event.waitUntil(confirmSubscription(self.registration)),
)
