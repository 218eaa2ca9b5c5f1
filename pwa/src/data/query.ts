/** The feedings and bins in the address of the alert screen. */
export function readQuery(address: string): { of: string[]; damp: string[]; in?: string; did?: string } {
  const query = new URLSearchParams(address.split('?')[1] ?? '')
  const list = (name: string) => (query.get(name) ?? '').split(',').filter((id) => id !== '')
  const bin = query.get('in')
  const did = query.get('did')
  return { of: list('of'), damp: list('damp'), ...(bin ? { in: bin } : {}), ...(did ? { did } : {}) }
}
