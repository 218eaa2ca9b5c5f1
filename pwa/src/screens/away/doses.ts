import { away as words } from '../../words/en.away'
import { volume, type Units } from '../../words/units'

const ORDER = ['dry', 'barely', 'damp', 'soaked']

/** Doses by what is felt, words with the same dose together. An empty dose is none. */
export function doseGroups(
  byFeel: Record<string, number>,
  say: (ml: number) => string,
  readings: Record<string, string>,
): { feels: string[]; dose: string }[] {
  const groups: { feels: string[]; dose: string }[] = []
  for (const feel of ORDER) {
    const ml = byFeel[feel]
    if (ml === undefined) continue
    const last = groups[groups.length - 1]
    const felt = (readings[feel] ?? feel).toLowerCase()
    const dose = ml > 0 ? say(ml) : ''
    if (last && last.dose === dose) last.feels.push(felt)
    else groups.push({ dose, feels: [felt] })
  }
  return groups
}

/** Doses in a line: "dry or barely: 6 tbsp; damp: leave it". */
export function doses(
  byFeel: Record<string, number>,
  units: Units,
  readings: Record<string, string>,
): string {
  return doseGroups(byFeel, (ml) => volume(ml, units), readings)
    .map(({ feels, dose }) =>
      dose === '' ? words.nothingIf(words.or(feels)) : words.dose(words.or(feels), dose),
    )
    .join('; ')
}
