/** Calendars that other programs follow. Part of the catalogue en.ts. */

export const calendar = {
  tripTitle: 'In the calendar',
  tripLead: 'The visits as a calendar: with a link it follows every change of the plan by itself.',
  file: 'Save the visits as a file (.ics)',
  fileHelp: 'Works without signal. A file does not follow later changes.',
  sitters: (name: string) => (name ? `A link for ${name}` : 'A link for whoever comes'),
  sittersHelp: 'It shows the visits of this trip and nothing else, until a day after you are back.',
  unnamed: 'Whoever comes',

  mineTitle: 'Your calendar',
  mineLead:
    'The rounds of the coming three weeks and the visits of trips, in the calendar that you use anyway. Rounds that can be one are one.',
  mine: 'Make a link',
  add: 'Add another link',
  for: 'Where it is used',
  forHint: 'Such as “desk computer”: by this you know which one to withdraw.',
  make: 'Make the link',

  made: (name: string) => `The link for ${name}`,
  once: 'It is shown this once. Whoever has it sees this calendar, and can change nothing.',
  code: (name: string) => `Code of the calendar link for ${name}`,
  open: 'Subscribe on this device',
  copy: 'Copy the link',
  copied: 'Copied.',
  stored: 'It is where it should be',
  onlyHere:
    'This address leads to this computer only. Make the link from an address that the other device reaches.',
  trust:
    'A calendar program fetches it by itself: on a home network it must trust this home’s certificates, and be at home.',
  seen: (when: string) => `asked for ${when}`,
  never: 'never asked for yet',
  ofTrip: (trip: string) => `visits of ${trip}`,
  noTrip: 'a trip that is gone',
  ofRoom: 'rounds and visits',
  again: 'New link',
  againOf: (name: string) => `New link for ${name}`,
  againSure: (name: string) => `A new link for ${name}? The one before stops working.`,
  remove: 'Withdraw',
  removeOf: (name: string) => `Withdraw the link for ${name}`,
  removeSure: (name: string) => `Withdraw the link for ${name}? It stops working at once.`,
  removed: (name: string) => `The link for ${name} is withdrawn.`,
  away: 'The links are on the server, and it does not answer now.',
  failed: 'The calendar could not be made.',
}
