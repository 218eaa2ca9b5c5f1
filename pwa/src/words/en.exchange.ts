/** The sentences about records on their way between this device and the server. Part of the catalogue en.ts. */
import { count } from './grammar'

const AMOUNTS: [minutes: number, one: string, many: string][] = [
  [60 * 24 * 60, 'month', 'months'],
  [2 * 24 * 60, 'day', 'days'],
  [2 * 60, 'hour', 'hours'],
  [1, 'minute', 'minutes'],
]

/** 125 minutes are 2 hours; a clock that is off is named roughly. */
function roughly(minutes: number): string {
  const [least, one, many] = AMOUNTS.find(([least]) => minutes >= least) ?? AMOUNTS[AMOUNTS.length - 1]!
  const size = { month: 30.44 * 24 * 60, day: 24 * 60, hour: 60, minute: 1 }[one] ?? least
  return count(Math.round(minutes / size), one, many)
}

export const exchange = {
  clock: (behindMinutes: number) =>
    `This device's clock is ${roughly(Math.abs(behindMinutes))} ${behindMinutes > 0 ? 'slow' : 'fast'}. Underlog goes by the server's time; please set the clock right.`,

  firstLoad: 'Fetching the room',
  firstLoadHelp: 'You can log already. Forecasts come when the last 200 days are here.',
  firstLoadProgress: (got: number, total: number) =>
    total > 0 ? `${got.toLocaleString('en')} of ${total.toLocaleString('en')} entries` : 'Asking the server…',

  older: (left: number) =>
    `${left.toLocaleString('en')} older ${left === 1 ? 'entry is' : 'entries are'} on the server and not on this device.`,
  olderPage: 'Fetch older entries',
  olderAll: 'Fetch all of them',
  olderStop: 'Stop fetching',
  olderFetching: 'Fetching older entries…',
}
