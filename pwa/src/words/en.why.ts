/** Why a bin wants something, where no state of the bin says it better. Part of the catalogue en.ts. */
import { capital } from './grammar'

/** Ways out of a bin, as a check finds them. */
export const ways: Record<string, string> = {
  ramp: 'a way up to the rim',
  torn: 'mesh torn',
  missing: 'mesh missing',
  ajar: 'lid ajar',
}

export const why = {
  neverFed: 'Nothing fed yet',
  fed: (food: string, span: string) => `Last fed ${span} ago: ${food}`,
  leaves: (span: string) => `Leaves added ${span} ago`,
  noLeaves: (chance: string) => `No leaves logged yet, bare by now: ${chance}`,
  frass: (months: string, chance: string) => `Substrate ${months} old, mostly frass: ${chance}`,
  frassUnknown: (chance: string) => `Substrate mostly frass: ${chance}`,
  planned: (day: string) => `Renewal planned for the week of ${day}`,
  trip: (day: string, chance: string) => `You leave ${day}. Dry in depth before you are back: ${chance}`,
  tripLeaves: (day: string) => `You leave ${day}, and the leaves would run out`,
  escaped: (span: string) => `Found outside ${span} ago`,
  wayOut: (way: string, span: string) => `${capital(way)} ${span} ago: is it mended?`,
  ramp: (span: string) => `New leaves or wood ${span} ago: a stem to the rim is a ramp`,
  unchecked: (span: string) => `Ways out last looked for ${span} ago`,
  mouldLeft: (food: string, mould: string, span: string) =>
    `${capital(food)} left in with mould (${mould}) ${span} ago`,
}
