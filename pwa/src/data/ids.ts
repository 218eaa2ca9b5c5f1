/**
 * A new record id: a UUIDv7 (RFC 9562) as 32 lower-case hex digits, so that
 * ids sort by the time at which they were made.
 */
export function newId(now: number = Date.now()): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16))
  for (let i = 0; i < 6; i++) bytes[i] = Math.floor(now / 2 ** (8 * (5 - i))) & 0xff
  bytes[6] = (bytes[6]! & 0x0f) | 0x70 // version 7
  bytes[8] = (bytes[8]! & 0x3f) | 0x80 // variant
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, '0')).join('')
}
