/** The sentences of the Room page. Part of the catalogue en.ts. */
import { count } from './grammar'

export const roomPage = {
  title: 'Room',
  settings: 'The room',
  name: 'Name',
  units: 'Measures',
  zone: 'Time zone',
  hemisphere: 'Where winter is',
  season: 'The usual air',
  seasonHelp: 'Used where no reading says otherwise.',
  temperature: 'Temperature',
  summer: 'Humidity in midsummer',
  winter: 'Humidity in midwinter',
  habits: 'Habits',
  lookIn: 'Longest a bin goes unopened, in days',
  meals: 'Meals a week',
  saved: 'Saved.',
  ownerOnly: 'The owner of the room can change these.',

  air: 'Air in the room now',
  airHelp: 'A reading corrects every forecast in the room.',
  humidity: 'Humidity',
  airLog: 'Log the reading',
  airLogged: 'Reading logged.',
  airNeeds: 'Give a temperature, a humidity or both.',

  people: 'People',
  owner: 'owner',
  helper: 'helper',
  you: 'you',
  peopleHelp: 'Helpers log and look; the owner also changes people and settings.',
  addHelper: 'Add a helper',
  helperName: 'Their name',
  helperPassword: 'A password for them',
  helperAdded: (name: string) => `${name} can sign in now.`,
  noSignal: 'This needs the server.',

  device: 'This device',
  alerts: 'Alerts',
  alertsOff:
    'The day after a feeding this device can remind you to check the leftovers, with the bin and the food.',
  alertsOn: 'Alerts come to this device.',
  alertsConfirmed: (at: string) => `Last confirmed ${at}.`,
  alertsSent: (at: string) => `Last alert sent ${at}.`,
  alertsDenied:
    'This browser was told to refuse alerts. Its own settings for this site can allow them again.',
  alertsInstall:
    'On this phone, alerts come only to the installed app: Share, then Add to Home Screen, then open it from there.',
  alertsInsecure: 'Alerts need a secure address (https, or this computer itself).',
  alertsBrowser: 'This browser cannot receive alerts. The Round shows everything all the same.',
  allow: 'Allow alerts here',
  tryOne: 'Send one to try',
  turnOff: 'Turn them off',
  tried: (status: number) =>
    status < 300
      ? 'Sent. It should appear within a minute.'
      : `The push service answered ${status}. Try again later.`,
  light: 'Light',
  lights: { day: 'Day', dusk: 'Dusk', red: 'Red lamp' },
  lightHelp: 'The red lamp is for rounds at night, when the animals are out.',
  sync: 'In touch with the server',
  tryNow: 'Exchange now',
  install: 'Keep it on your home screen',
  installIos:
    'Share, then Add to Home Screen. Opened from there it starts without signal and its records are not cleared.',
  installOther: "In the browser's menu: Install app, or Add to Home screen. It then starts without signal.",
  signOut: 'Sign out of this device',
  signOutHelp: 'This empties the device. Everything sent stays on the server.',
  signOutUnsent: (n: number) => `${count(n, 'record is', 'records are')} not sent yet and would be lost.`,
  saveUnsent: 'Save them as a file',
  signOutAnyway: 'Sign out all the same',

  book: 'The room as a file',
  bookHelp: 'One text file with everything: bins, foods, kinds, entries.',
  export: 'Save the book',
  import: 'Read a book in',
  importHelp: 'First it is only checked; nothing is changed until you say so.',
  importFound: (bins: number, entries: number, already: number) =>
    `${count(bins, 'bin', 'bins')} and ${count(entries, 'entry', 'entries')} are new; ${already} are here already.`,
  importProblems: (n: number) => `${count(n, 'line is', 'lines are')} not right and would be left out:`,
  importGo: 'Take them in',
  importDone: 'Taken in. They arrive with the next exchange.',
  importNothing: 'Nothing in it is new.',
  checking: 'Checking…',
  working: 'Working…',

  about: 'About Underlog',
  aboutText:
    'Underlog forecasts when each bin will want something, from its vents, the air of the room and what your fingers have felt. A forecast is a guess with odds; your own look is what counts.',
  cautions: 'Cautions',
  cautionList: [
    'Leaves in the oven: stay with it, a thin layer, open windows. Sanitized is not sterile.',
    'Mould and frass dust: moving air, dampen first, a mask if you have asthma or a weak immune system.',
    'Allergic to crustaceans or mites? Wear gloves, and mind shrimp foods too.',
    'Leaves only from trees you know, unsprayed and not poisonous.',
    'Wash your hands, and keep the tools off the kitchen.',
    'Never release animals or old substrate outdoors.',
    'Moving or shipping animals may need a permit: ask your authority. Underlog gives no clearance.',
  ],
}
