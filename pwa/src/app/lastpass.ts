/** The pass that was opened last on this device, for a start without an address: a sign on the home screen. */
import { to } from './route'

const KEY = 'underlog-pass'

/** Its address, or nothing. */
export function lastPass(): string {
  try {
    const secret = localStorage.getItem(KEY)
    return secret ? to.pass(secret) : ''
  } catch {
    return '' // storage is closed to us (private window): the link itself still works
  }
}

export function rememberPass(secret: string | null): void {
  try {
    if (secret) localStorage.setItem(KEY, secret)
    else localStorage.removeItem(KEY)
  } catch {
    // As above.
  }
}
