import { db } from '../data/db'
import { deviceId } from '../data/log'
import { call } from './server'

export const ALERTS_ROUTE = '/api/underlog/alerts'

/** Gives the server this device's push subscription. */
export async function tellSubscription(subscription: PushSubscription): Promise<void> {
  const { endpoint, keys } = subscription.toJSON()
  const body = { device: await deviceId(), label: deviceLabel(), subscription: { endpoint, keys } }
  await call(ALERTS_ROUTE, { method: 'PUT', body })
  await db.set({ alertsConfirmedAt: new Date().toISOString() })
}

/** A name by which people tell their devices apart. */
function deviceLabel(): string {
  const agent = navigator.userAgent
  const systems = ['iPhone', 'iPad', 'Android', 'Windows', 'Macintosh', 'Linux']
  const system = systems.find((name) => agent.includes(name))
  return system === 'Macintosh' ? 'Mac' : (system ?? 'Device')
}
