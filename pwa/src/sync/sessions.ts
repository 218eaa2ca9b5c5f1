import { call } from './server'

/** Where somebody is signed in. */
export interface SignedInAt {
  id: string
  person: string
  label: string // the system, as the device named it
  device: string // as entries name it; empty before its first exchange
  since: string
  seen_at: string
  here: boolean
}

/** The owner sees everybody's, others their own; the last seen first. */
export function listSessions(): Promise<SignedInAt[]> {
  return call<SignedInAt[]>('/api/underlog/sessions')
}

/** Ends one: that device keeps its records and must sign in again. */
export async function endSession(id: string): Promise<void> {
  await call(`/api/underlog/sessions/${id}`, { method: 'DELETE' })
}
