import { updateReady } from './state'

/**
 * The service worker's life as the page sees it. A new version is fetched in
 * the background and waits; it takes over only when the person says so, since
 * a reload would lose a half-filled sheet.
 */
let waiting: ServiceWorker | null = null

export async function register(): Promise<void> {
  if (!('serviceWorker' in navigator) || import.meta.env.DEV) return
  try {
    const registration = await navigator.serviceWorker.register('/sw.js', { updateViaCache: 'none' })
    const offer = (worker: ServiceWorker | null) => {
      // Without a controller this is the first install: nothing to take over from.
      if (!worker || !navigator.serviceWorker.controller) return
      waiting = worker
      updateReady.set(true)
    }
    offer(registration.waiting)
    registration.addEventListener('updatefound', () => {
      const worker = registration.installing
      worker?.addEventListener('statechange', () => worker.state === 'installed' && offer(worker))
    })
    // Installed apps never look by themselves on some systems.
    const look = () => void registration.update().catch(() => undefined)
    document.addEventListener('visibilitychange', () => document.visibilityState === 'visible' && look())
    window.addEventListener('pageshow', look)
  } catch (error) {
    console.warn('No service worker: the app needs its server to start.', error)
  }
}

/** Lets the waiting version take over and reloads: call it when the person agrees. */
export async function updateNow(): Promise<void> {
  if (!waiting) return location.reload()
  const taken = new Promise((resolve) =>
    navigator.serviceWorker.addEventListener('controllerchange', resolve, { once: true }),
  )
  waiting.postMessage({ type: 'take-over' })
  await Promise.race([taken, new Promise((resolve) => setTimeout(resolve, 5000))])
  location.reload()
}

/** A tapped notification leads an open page to its stop, without loading the page anew. */
export function followNotifications(): void {
  navigator.serviceWorker?.addEventListener(
    'message',
    (event: MessageEvent<{ type?: string; path?: string }>) => {
      if (event.data?.type === 'go' && event.data.path)
        location.hash = new URL(event.data.path, location.href).hash
    },
  )
}

/** Asks the service worker to keep a copy of the engine for days without signal. */
export function keepEngine(): void {
  navigator.serviceWorker?.ready.then((registration) =>
    registration.active?.postMessage({ type: 'keep-engine' }),
  )
}
