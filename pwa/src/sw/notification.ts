import { log } from '../data/log'

/** The part of a declarative push message (web_push 8030) that a notification is made of. */
interface Declared {
  title?: string
  body?: string
  navigate?: string
  tag?: string
  data?: Record<string, unknown>
  actions?: NotificationAction[]
}

/** What to show for a message; for one that cannot be read (an older app, a newer server) a plain line. */
export function notificationOf(text: string | undefined): { title: string; options: NotificationOptions } {
  const { title, body, navigate, tag, data, actions } = read(text)
  return {
    title: title || 'Underlog',
    options: {
      body: title ? body : 'Something in your room wants a look. Open the round to see what.',
      tag: tag ?? 'underlog',
      icon: '/icons/icon-192.png',
      badge: '/icons/badge-96.png',
      data: { ...data, navigate },
      actions: actions ?? [],
    },
  }
}

function read(text: string | undefined): Declared {
  try {
    const message = JSON.parse(text ?? '') as { notification?: Declared }
    return message.notification ?? {}
  } catch {
    return {}
  }
}

/** Where a tap on the notification leads, always within this app. */
export function stopOf(data: unknown): string {
  const { navigate, bin, of } = (data ?? {}) as { navigate?: string; bin?: string; of?: string }
  if (bin) return `/#/stop/${encodeURIComponent(bin)}${of ? `?of=${encodeURIComponent(of)}` : ''}`
  try {
    const url = new URL(navigate ?? '/', self.location.origin)
    if (url.origin === self.location.origin) return url.pathname + url.search + url.hash
  } catch {
    // not an address
  }
  return '/'
}

/** The button "All gone": the feeding was looked at and nothing was left. False if the message names no feeding. */
export async function allGone(data: unknown): Promise<boolean> {
  const { bin, of } = (data ?? {}) as { bin?: string; of?: string }
  if (!bin || !of) return false
  const done = await log({ what: 'leftovers', bin, of, left: 'all gone', mould: 'none', removed: false })
  return done.ok
}
