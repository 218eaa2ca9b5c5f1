import { tellSubscription } from '../sync/subscription'
import { call } from '../sync/server'
import { deviceId } from '../data/log'

/** The browser replaced or dropped this device's subscription: make one and tell the server. */
export async function confirmSubscription(registration: ServiceWorkerRegistration): Promise<void> {
  const existing = await registration.pushManager.getSubscription()
  const { key } = await call<{ key: string }>(`/api/underlog/alerts?device=${await deviceId()}`)
  const subscription =
    existing ??
    (await registration.pushManager.subscribe({ userVisibleOnly: true, applicationServerKey: key }))
  await tellSubscription(subscription)
}
