/** The sentences of alerts: the screen that one leads to, and this device's settings. Part of the catalogue en.ts. */
import type { AlertSettings, AlertSort } from '../types'
import { count, list } from './grammar'

const sort: Record<AlertSort, string> = {
  wrong: 'A sitter finds something wrong',
  leftovers: 'Leftover food',
  dampness: 'Dampness at risk',
  digest: 'The round',
}

export const alertScreen = {
  title: (leftovers: number, damp: number): string => {
    if (leftovers + damp === 0) return 'Alert'
    if (damp === 0) return 'Check leftover food'
    if (leftovers === 0) return 'Dampness at risk'
    return 'These want a look'
  },
  wrong: 'Something is wrong',
  wrongBy: (who: string, when: string) => (who ? `${who}, ${when}` : when),
  wrongTakenBack: 'Taken back since.',
  wrongNotHere: 'What was said is not on this device yet. With signal it arrives by itself.',
  wrongRoom: 'The room',
  toBin: 'To this bin',
  allGone: 'All gone',
  tookOut: 'Took it out',
  leftIn: 'Left it in, still clean',
  more: 'More of this bin',
  settled: 'Seen to already.',
  notHere: 'This bin is not on this device yet. With signal it arrives by itself.',
  unknownFood: 'What is left of the feeding',
  also: 'Also due',
  later: 'Not now? Tell me again',
  tonight: 'Tonight',
  tomorrow: 'Tomorrow',
  snoozed: (when: string) => `You will be told again ${when}, unless it is seen to first.`,
  snoozedOffline: 'Noted on this device. The server learns of it with the next signal.',
  toRound: 'To the round',
  done: 'All seen to. Thank you.',
  nothing: 'Nothing of this alert is open any more.',
}

export const alertSettings = {
  title: 'Alerts on this device',
  sorts: 'What it is told',
  sort,
  sortHelp: {
    wrong: 'At once, also in quiet hours, and never held back.',
    leftovers: 'The day after a feeding, with the bin and the food.',
    dampness: 'When a damp side is about to dry out deep down and nobody has been there.',
    digest: 'One message before the round you usually make, with everything else.',
  } as Record<AlertSort, string>,
  level: { alone: 'By itself', digest: 'With the round', off: 'Never', on: 'Yes' } as Record<string, string>,
  quiet: 'Quiet hours',
  quietFrom: 'Quiet from',
  quietTo: 'until',
  quietHelp: "In the room's time zone. What falls into them comes when they end.",
  digestWhen: 'When the message about the round comes',
  learned: (days: string, at: string) => `Half an hour before your usual round: ${days} at ${at}.`,
  unlearned: (at: string) =>
    `Half an hour before ${at}, every day. After a few rounds it follows the days and the hour you really go.`,
  followRound: 'Follow my rounds',
  fixed: 'Always at',
  days: 'On these days',
  daysHelp: 'None chosen: the days of your usual round.',
  everyDay: 'every day',
  week: 'At most in seven days',
  weekHelp: (sent: number, held: number) =>
    `${count(sent, 'alert', 'alerts')} in the last seven days${held > 0 ? `, ${held} held back` : ''}.`,
  snooze: 'Quiet for now',
  snoozeHelp: 'Nothing rings until then. What is still open comes in one message.',
  snoozedUntil: (when: string) => `Quiet until ${when}.`,
  endSnooze: 'Ring again now',
  tryOne: 'Send me one now',
  trying: 'Sending…',
  confirmed: (at: string) => `This device last confirmed ${at}.`,
  lastCame: (at: string) => `The last alert was taken ${at}.`,
  noneYet: 'No alert has been sent to this device yet.',
  offerTitle: (what: AlertSort) => `${sort[what]}: fewer alerts?`,
  offer: (what: AlertSort, ignored: number) =>
    `${sort[what]}: nothing followed the last ${ignored} alerts. Should they be quieter?`,
  turnDown: {
    wrong: 'No more of these',
    leftovers: 'Only with the round',
    dampness: 'Only with the round',
    digest: 'No more of these',
  } as Record<AlertSort, string>,
  keep: 'Leave them as they are',
  contact: 'How push services can reach you',
  contactHelp:
    'An e-mail address or a web address of yours. Some push services refuse alerts from a server that nobody answers for. It is given to them alone.',
  contactMissing: 'Not given yet: some phones may refuse the alerts.',
  contactOwner: 'The owner of the room has given no contact address: some phones may refuse the alerts.',
  clock: (minutes: number) =>
    minutes > 0
      ? `The server's clock is ${minutes} minutes ahead of the push service's. Set it right, or alerts will be refused.`
      : `The server's clock is ${-minutes} minutes behind the push service's. Set it right, or alerts will be refused.`,
  needsServer: 'These are kept on the server: they show with signal.',
  saved: 'Saved.',
  /** What the push service said, in words; none where all is well. */
  answered: (status: number, text: string): string => {
    const said = text ? ` (${text})` : ''
    if (status >= 200 && status < 300) return ''
    if (status === 0) return `The push service could not be reached${said}. It is tried again.`
    if (status === 404 || status === 410)
      return 'The push service says that this device takes no more alerts. Turn them off and on again here.'
    if (status === 413) return 'The push service found the message too long.'
    if (status === 429) return 'The push service asks for patience. It is tried again later.'
    if (status === 400 || status === 401 || status === 403)
      return `The push service refused this server, ${status}${said}. A contact address or the server's clock may be the reason.`
    return `The push service answered ${status}${said}. It is tried again.`
  },
  sentNow: 'Sent. It should appear within a minute.',
}

const DAY_NAMES: Record<string, string> = {
  mon: 'Monday',
  tue: 'Tuesday',
  wed: 'Wednesday',
  thu: 'Thursday',
  fri: 'Friday',
  sat: 'Saturday',
  sun: 'Sunday',
}

export const WEEK = Object.keys(DAY_NAMES)

export const dayName = (day: string) => DAY_NAMES[day] ?? day

export function sayDays(days: string): string {
  const chosen = WEEK.filter((day) => days.split(' ').includes(day))
  return chosen.length === 7 || chosen.length === 0 ? alertSettings.everyDay : list(chosen.map(dayName))
}

export type Level = AlertSettings['leftovers'] | AlertSettings['digest']
