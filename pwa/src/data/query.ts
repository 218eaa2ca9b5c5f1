/** The feedings, the bins and what a sitter found wrong in the address of the alert screen. */
export function readQuery(address: string): {
  of: string[]
  damp: string[]
  wrong?: string[]
  in?: string
  did?: string
} {
  const query = new URLSearchParams(address.split('?')[1] ?? '')
  const list = (name: string) => (query.get(name) ?? '').split(',').filter((id) => id !== '')
  const bin = query.get('in')
  const did = query.get('did')
  const wrong = list('wrong')
  return {
    of: list('of'),
    damp: list('damp'),
    ...(wrong.length > 0 ? { wrong } : {}),
    ...(bin ? { in: bin } : {}),
    ...(did ? { did } : {}),
  }
}
