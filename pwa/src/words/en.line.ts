/** What is said where a server, the browser or a file does not do what it was asked. Part of the catalogue en.ts. */
export const line = {
  away: 'The server does not answer.',
  answered: (status: number) => `The server answered ${status}.`,
  other: 'Something else than the server answered.',
  otherWith: (status: number) => `Something else than the server answered ${status}.`,
  refused: (status: number) => `The server refused (${status}).`,
  tooMany: 'Too many tries in a short time. Wait a minute, then try again.',
  noVerdict: 'The server gave no verdict.',
  repeats: 'The server repeats itself.',
  standsStill: 'The server stands still.',
  stuck: 'The exchange was stuck.',
  anotherTab: 'Another tab took over.',

  nobody: 'No one of this room has that name and password. Look at both and try again.',
  bookAway: 'The server does not answer: the book comes from it. Try again with signal.',
  bookRefused: (status: number) => `The server did not give the book (${status}).`,
  bookReaderAway: 'The server does not answer: it reads the book. Try again with signal.',
  bookNotTaken: (status: number) => `The server did not take the book (${status}).`,
  alertsNever: 'This browser cannot show alerts for Underlog.',
  alertsForbidden: "Alerts are not allowed: the browser's settings for this site decide that.",
  photoDamaged: 'Its photo is damaged.',
}
