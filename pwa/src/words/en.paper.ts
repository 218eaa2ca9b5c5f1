/** The sheet on paper for whoever looks after the bins. Part of the catalogue en.ts. */
import { pass } from './en.pass'
import { capital, count } from './grammar'

export const paper = {
  title: 'On paper',
  lead: 'One sheet with the visits, the racks and what to do to each bin, in large type. It works if every phone fails.',
  which: 'Paper',
  papers: { a4: 'A4', letter: 'Letter' },
  code: 'Link of the sitter’s pass, if its code should be on the sheet',
  codeHelp: 'Leave it empty for a sheet without a code. Whoever has the paper then has the pass.',
  make: 'Make the sheet',
  making: 'Making the sheet…',
  made: (visits: number, bins: number) =>
    `Ready to print: ${count(visits, 'visit', 'visits')}, ${count(bins, 'bin', 'bins')}. Print it once the trip is as it shall be.`,
  save: 'Save the sheet (PDF)',
  needsServer: 'The sheet is made by the server, and it does not answer now.',

  span: (from: string, to: string, sitter: string) => `${from} to ${to}${sitter ? `, for ${sitter}` : ''}`,
  page: 'Page {page} of {pages}',
  call: 'If something is wrong, call',
  fromOwner: 'From the owner',
  how: 'How to do it',
  // What the words feel like: common practice, no source.
  steps: (dampIsLeft: boolean) => [
    'Come on the days that are listed, and open only the bins that are listed for that day.',
    'Lift the lid and press a fingertip into the ground at the end that is named.',
    'Dry: light and crumbly. Barely damp: cool, but nothing sticks. Damp: crumbs stick to the finger. Soaked: water shows.',
    dampIsLeft
      ? 'Damp already? Then there is nothing to do. Close the lid.'
      : 'Where the list says nothing to do for what you feel, give no water and close the lid.',
    'Water goes on slowly, at the end that is named and nowhere else. A tablespoon (tbsp) holds about 15 mL.',
    'Tick what you found, tick the box, and close the lid as it was.',
  ],
  not: 'What not to do',
  nots: [
    'Bins without a number stay shut.',
    'No more water than the sheet says, and no food that it does not name.',
    'No sprays or cleaners in the room. Move no bin, and take nothing out.',
  ],
  map: 'Where the bins stand',
  mapSays: 'Seen from the front. Each number is a bin on this sheet; a box without one stays shut.',
  shelf: (n: number) => `Shelf ${n}`,
  visits: 'The visits',
  noVisits: 'Nobody has to open a bin on this trip.',
  found: 'Found:',
  bins: 'The bins',
  dont: 'Please do not',
  where: (rack: string, shelf: number, position: number) => `${pass.where(rack, shelf, position)}.`,
  feel: (end: string) => `Feel the ${end}.`,
  dose: (words: string, dose: string) => `${capital(words)}: ${dose}, slowly, at that end.`,
  nothing: (words: string) => `${capital(words)}: nothing to do.`,
  foodDays: 'Food only on the days that name it.',
  otherEnd: (end: string) => `No water at the ${end}.`,
  shut: 'Better left shut: lift the lid only on the days that are listed, and shortly.',
  ends: { left: 'left', right: 'right', front: 'front', back: 'back' },
  dampEnd: (end: string) => `${end}: damp`,
  dryEnd: (end: string) => end,
  scan: 'The same on a phone: scan this.',
}
