import { call } from './server'

/** A code that lets one device in. */
export interface Code {
  code: string
  until: string
  name: string // who is signed in by it
  link: string // empty where phones cannot reach the server
  guide: string // what a phone opens first that does not trust this home yet, empty where that is not needed
}

const ROUTE = '/api/underlog/pairing'

/** Makes a code for oneself, for somebody of the household, or for a new helper by name (owner). */
export function makeCode(whom: { person?: string; helper?: string }): Promise<Code> {
  return call<Code>(ROUTE, { method: 'POST', body: { ...whom, origin: location.origin } })
}

/** What became of the code that was made last. */
export async function codeState(): Promise<'none' | 'waiting' | 'claimed' | 'lapsed'> {
  const { state } = await call<{ state: 'none' | 'waiting' | 'claimed' | 'lapsed' }>(ROUTE)
  return state
}

/** Has the code that was made last let nobody in any more. */
export async function withdrawCode(): Promise<void> {
  await call(ROUTE, { method: 'DELETE' })
}
