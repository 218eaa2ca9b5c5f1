/** The sentences about photos. Part of the catalogue en.ts. */
import { count } from './grammar'

const mb = (bytes: number) => {
  if (bytes >= 1_000_000_000) return `${Math.round(bytes / 100_000_000) / 10}\u00a0GB`
  const n = bytes / 1_000_000
  return `${n < 10 ? Math.round(n * 10) / 10 : Math.round(n)}\u00a0MB`
}

export const photos = {
  title: 'Photos',
  none: 'No photo yet. One taken now shows in a year what has become of it.',
  take: 'Take a photo',
  choose: 'Choose a photo',
  addTo: (what: string) => `Add a photo to: ${what}`,
  add: 'Photo',
  working: 'Making it fit…',
  kept: 'Photo kept on this device. It is sent by itself.',
  keptFrom: (day: string) => `Photo of ${day} kept on this device. It is sent by itself.`,
  notKept: (why: string) => `No photo was kept: ${why}`,

  empty: 'that file is empty. Choose another picture.',
  tooLarge: (bytes: number, most: number) => `that file has ${mb(bytes)}. Choose one of at most ${mb(most)}.`,
  heic: 'this browser cannot open HEIC pictures. Set the camera to JPEG (“most compatible”), or save the picture as JPEG first.',
  notAPicture: 'this browser cannot open that file as a picture. Choose a JPEG, PNG or WebP.',
  tooSmall: 'that picture has no pixels. Choose another one.',
  doesNotFit: 'that picture could not be made small enough. Choose another one.',
  insecure: 'photos need a secure address (https, or this computer itself).',
  noRoom: 'this device has no room left. Free some and take it again; everything logged before is safe.',
  damaged:
    'The copy on this device is damaged or gone, so this photo cannot be sent. Drop it, and take it again.',

  of: (name: string, day: string, note: string) =>
    `${name === '' ? 'Photo' : name}, ${day}${note ? `: ${note}` : ''}`,
  open: (what: string) => `Look at: ${what}`,
  fetching: 'Fetching the picture…',
  away: 'The picture is not on this device. It comes with signal.',
  notThere:
    'The picture is not on the server. It is still on the device that took it, or its book came without it.',
  struck: 'Struck: the picture is gone.',
  latest: (day: string) => `The latest photo, ${day}`,
  strike: 'Strike this photo',
  strikeSure:
    'Strike it? The line stays in the notebook, crossed out; the picture is no longer shown on any device.',
  keepIt: 'Keep it',
  all: (n: number) => `All ${n} photos`,
  fewer: 'Fewer photos',

  onTheWay: (n: number, percent: number) =>
    `${n === 1 ? 'Sending a photo' : `Sending ${n} photos`}: ${percent}\u00a0%`,
  waiting: (n: number) => `${count(n, 'photo waits', 'photos wait')} on this device`,
  progress: 'Photos sent',
  troubled: (n: number) => `${count(n, 'photo was', 'photos were')} not taken`,
  again: 'Send again',
  drop: 'Drop',
  dropSure: 'Drop this photo? It is struck, and nothing of it stays on this device.',
  dropIt: 'Drop it',

  thenAndNow: 'Then and now',
  then: 'Then',
  now: 'Now',
  view: 'How to compare',
  beside: 'Side by side',
  slide: 'Slide over',
  slider: 'How much of then is shown',
  sliderSays: (percent: number) => `Then on the left ${percent}\u00a0%, now on the right`,
  same: 'Both are the same photo. Choose two days to compare.',
  apart: (span: string) => `${span} apart`,

  usage: (n: number, bytes: number, quota: number) =>
    n === 0
      ? `None on the server yet. There is room for ${mb(quota)}.`
      : `${count(n, 'photo', 'photos')} on the server: ${mb(bytes)} of ${mb(quota)}.`,
  usageUnknown: 'How much room is left is for the server to say: there is no signal.',
  help: 'A photo is made smaller and freed of the place where it was taken before this device keeps it. It is sent after everything logged.',
}
