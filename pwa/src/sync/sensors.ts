import { call } from './server'

export interface Sensor {
  id: string
  name: string
  bin: string // empty: the air of the room
  seen_at: string
}

/** The household's sensors, by name (owner). */
export async function listSensors(): Promise<Sensor[]> {
  const { items } = await call<{ items: Sensor[] }>(
    '/api/collections/sensors/records?perPage=200&sort=name&fields=id,name,bin,seen_at',
  )
  return items
}

/** Makes a sensor and answers its token, which nobody can learn again. */
export async function addSensor(name: string, bin: string): Promise<{ id: string; token: string }> {
  return call('/api/underlog/sensors', { method: 'POST', body: { name, bin } })
}

/** Makes the token of a sensor worthless. */
export async function revokeSensor(id: string): Promise<void> {
  await call(`/api/underlog/sensors/${encodeURIComponent(id)}`, { method: 'DELETE' })
}

/** The line by which a sensor logs a reading. */
export function curlLine(token: string): string {
  const reading = '{"temperature_c":20.4,"humidity_pct":47}'
  return `curl -H "Authorization: Bearer ${token}" -d '${reading}' ${location.origin}/api/underlog/climate`
}
