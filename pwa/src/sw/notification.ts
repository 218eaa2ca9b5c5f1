import { isSettled, readTold } from '../data/told'
import { log } from '../data/log'

export interface Shown {
  title: string
  options: NotificationOptions
  /** How many bins want something; undefined where the message does not say. */
  badge?: number
}

/** What is shown for a message that says nothing readable. */
const PLAIN = 'Something in your room wants a look. Open the round to see what.'

/**
 * What to show for a declarative push message (web_push 8030). One that cannot
 * be read (an older app, a newer server, garbage) still makes a plain line:
 * whatever is not as expected in it counts as absent.
 */
export function notificationOf(message: string | undefined): Shown {
  const { notification, app_badge } = fields(parsed(message))
  const { title, body, navigate, tag, data, actions } = fields(notification)
  return {
    title: text(title) || 'Underlog',
    options: {
      body: text(title) ? text(body) : PLAIN,
      tag: text(tag) || 'underlog',
      icon: '/icons/icon-192.png',
      badge: '/icons/badge-96.png',
      data: { ...fields(data), navigate: text(navigate) },
      actions: Array.isArray(actions) ? actions.flatMap(button) : [],
    },
    ...(Number.isSafeInteger(app_badge) && Number(app_badge) >= 0 ? { badge: Number(app_badge) } : {}),
  }
}

function parsed(message: string | undefined): unknown {
  try {
    return JSON.parse(message ?? '')
  } catch {
    return undefined
  }
}

const fields = (value: unknown) =>
  value !== null && typeof value === 'object' ? (value as Record<string, unknown>) : {}

const text = (value: unknown) => (typeof value === 'string' ? value : '')

function button(value: unknown): NotificationAction[] {
  const { action, title } = fields(value)
  return text(action) && text(title) ? [{ action: text(action), title: text(title) }] : []
}

/** The text of a push: a browser that reads declarative messages by itself hands over what it read. */
export function textOf(
  event: PushEvent & { notification?: Notification; appBadge?: number },
): string | undefined {
  if (event.data || !event.notification) return event.data?.text()
  const { title, body, tag, data, actions, navigate } = event.notification as Notification & {
    actions?: NotificationAction[]
    navigate?: string
  }
  return JSON.stringify({
    notification: { title, body, tag, data: data as unknown, actions, navigate },
    app_badge: event.appBadge,
  })
}

/**
 * The same alert where this device knows that it is settled: shown all the
 * same, since browsers take the permission away from sites that stay silent,
 * but without a sound and without asking for anything.
 */
export function settledOf(shown: Shown): Shown {
  return {
    ...shown,
    title: `Done already: ${shown.title.charAt(0).toLowerCase()}${shown.title.slice(1)}`,
    options: { ...shown.options, silent: true, actions: [] },
  }
}

/** Whether this device's own records say that an alert is settled; not if they cannot be read. */
export async function isKnownSettled({ options }: Shown): Promise<boolean> {
  try {
    return await isSettled(readTold(options.data))
  } catch {
    return false
  }
}

/** Where a tap on the notification leads, always within this app. */
export function pathOf(data: unknown): string {
  try {
    const url = new URL(text(fields(data)['navigate']) || '/', self.location.origin)
    if (url.origin === self.location.origin) return url.pathname + url.search + url.hash
  } catch {
    // not an address
  }
  return '/'
}

/** What the buttons of an alert write. */
const ANSWERS = {
  'all-gone': { left: 'all gone', mould: 'none', removed: false },
  'took-out': { left: 'some left', removed: true },
} as const

/** Writes what a button says. False if it says nothing, or the message names no single feeding. */
export async function answer(action: string, data: unknown): Promise<boolean> {
  const { of, in: bin } = readTold(data)
  if (!(action in ANSWERS) || of.length !== 1 || !bin) return false
  const done = await log({ what: 'leftovers', bin, of: of[0]!, ...ANSWERS[action as keyof typeof ANSWERS] })
  return done.ok
}
