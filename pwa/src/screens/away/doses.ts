import { away as words } from '../../words/en.away'
import { volume, type Units } from '../../words/units'

const ORDER = ['dry', 'barely', 'damp', 'soaked']

/** Doses by what is felt, words with the same dose together: "dry or barely: 6 tbsp; damp: leave it". */
export function doses(
  byFeel: Record<string, number>,
  units: Units,
  readings: Record<string, string>,
): string {
  const groups: { ml: number; feels: string[] }[] = []
  for (const feel of ORDER) {
    const ml = byFeel[feel]
    if (ml === undefined) continue
    const last = groups[groups.length - 1]
    const said = (readings[feel] ?? feel).toLowerCase()
    if (last && said_(last.ml, units) === said_(ml, units)) last.feels.push(said)
    else groups.push({ ml, feels: [said] })
  }
  return groups
    .map(({ ml, feels }) =>
      ml > 0 ? words.dose(words.or(feels), volume(ml, units)) : words.nothingIf(words.or(feels)),
    )
    .join('; ')
}

const said_ = (ml: number, units: Units) => (ml > 0 ? volume(ml, units) : '')
