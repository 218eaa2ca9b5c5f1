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

  littleRoom: (bytes: number) =>
    `This device is nearly full: about ${Math.max(1, Math.round(bytes / 1e6))} MB are left for Underlog. Free some space, or new entries cannot be kept.`,
  storage: 'The storage of this device',
  storageFull: 'free some space on it and log this again; nothing was saved',

  cleared: (name: string) =>
    `This browser has cleared the records that Underlog kept on this device for ${name}. Everything that was sent is on the server: sign in and it comes back.`,
  clearedUnsent: (n: number) =>
    `${count(n, 'record', 'records')} had not been sent. If you saved them to a file, read it in under Room after signing in.`,

  readUnsent: 'Read saved records back in',
  readUnsentHelp: 'A file that this app saved before it was signed out.',
  readUnsentDone: (taken: number, already: number) =>
    `${count(taken, 'record', 'records')} taken in${already > 0 ? `, ${already} were here already` : ''}.`,
  readUnsentProblems: (n: number) => `${count(n, 'line is', 'lines are')} not right and left out:`,
  readUnsentLine: (line: number, sentence: string) => `Line ${line}: ${sentence}`,

  sessions: 'Where you are signed in',
  sessionsAll: 'Where everybody is signed in',
  sessionsHelp:
    'Signing a device out from here leaves its records on it; it then asks for the password again.',
  sessionsAway: 'The server does not answer: it keeps the list.',
  sessionHere: 'this device',
  sessionSeen: (at: string) => `last seen ${at}`,
  sessionEnd: 'Sign out',
  sessionEndOf: (what: string) => `Sign out: ${what}`,
  sessionSure: 'Sign it out there?',
  sessionEnded: 'Signed out. That device has to sign in again.',

  older: (left: number) =>
    `${left.toLocaleString('en')} older ${left === 1 ? 'entry is' : 'entries are'} on the server and not on this device.`,
  olderPage: 'Fetch older entries',
  olderAll: 'Fetch all of them',
  olderStop: 'Stop fetching',
  olderFetching: 'Fetching older entries…',
}
