/** How English makes its lists and plurals. */
export function count(n: number, one: string, many: string): string {
  return `${n} ${n === 1 ? one : many}`
}

export function list(items: string[]): string {
  if (items.length < 2) return items[0] ?? ''
  return `${items.slice(0, -1).join(', ')} and ${items[items.length - 1]}`
}

/** A place code that no line breaks: word joiners stand around its hyphen. */
export function unbroken(code: string): string {
  return code.replaceAll('-', '\u2060-\u2060')
}

export function capital(s: string): string {
  return s === '' ? s : s[0]!.toUpperCase() + s.slice(1)
}
