/** Background Sync and notification actions are not in TypeScript's own library. */
interface SyncManager {
  register(tag: string): Promise<void>
}

interface SyncEvent extends ExtendableEvent {
  readonly tag: string
}

interface ServiceWorkerRegistration {
  readonly sync?: SyncManager
}

interface ServiceWorkerGlobalScopeEventMap {
  sync: SyncEvent
}

interface NotificationAction {
  action: string
  title: string
}

interface NotificationOptions {
  actions?: NotificationAction[]
}
