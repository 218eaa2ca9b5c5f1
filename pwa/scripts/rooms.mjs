/** Large rooms for measuring, made of the example household over and over. */
const DAYS = 120 // of entries in the example
const ERAS = 6

/** So many bins, each with its entries in every era; at most so many entries, the newest. */
export function roomOf(bins, base, most = Infinity) {
  const templates = base.sheets.filter((sheet) => sheet.sheet === 'bins')
  const sheets = base.sheets.filter((sheet) => sheet.sheet !== 'bins')
  const entries = base.entries.filter((entry) => !entry.bin)
  const own = new Map()
  for (const entry of base.entries) {
    if (entry.bin) own.set(entry.bin, [...(own.get(entry.bin) ?? []), entry])
  }
  for (let n = 0; n < bins; n++) {
    const template = templates[n % templates.length]
    const id = `bin${String(n).padStart(12, '0')}`
    const copy = Math.floor(n / templates.length)
    const rack = { ...template.fields.rack, v: `${template.fields.rack.v}${copy > 0 ? ` ${copy + 1}` : ''}` }
    sheets.push({ ...template, id, fields: { ...template.fields, rack } })
    for (let era = 0; era < ERAS; era++) {
      for (const entry of own.get(template.id) ?? []) {
        const suffix = `-${n}-${era}`
        const at = new Date(Date.parse(entry.at) - era * DAYS * 86_400_000).toISOString()
        const of = entry.of ? { of: entry.of + suffix } : {}
        entries.push({ ...entry, ...of, id: entry.id + suffix, bin: id, at })
      }
    }
  }
  if (entries.length > most) entries.sort((a, b) => b.at.localeCompare(a.at)).length = most
  return { sheets, entries }
}
