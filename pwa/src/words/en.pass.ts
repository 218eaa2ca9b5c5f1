/** The sentences that a sitter reads: somebody who may never have held a woodlouse. Part of the catalogue en.ts. */
import type { Bin } from '../types'
import { shelfOf } from './en'
import { count } from './grammar'

type End = Bin['damp_end']

const ENDS: Record<End, string> = {
  left: 'left end',
  right: 'right end',
  front: 'front end, nearest to you',
  back: 'back end, furthest from you',
}

/** Where an end is, for whoever stands before the box. */
const SIDES: Record<End, string> = {
  left: 'on the left',
  right: 'on the right',
  front: 'nearest to you',
  back: 'furthest from you',
}
const OPPOSITE: Record<End, End> = { left: 'right', right: 'left', front: 'back', back: 'front' }

export const pass = {
  title: 'The visit',
  rehearsal: 'Rehearsal: nothing here is kept or sent.',
  leave: 'Leave',
  hello: (sitter: string) => (sitter ? `Hello ${sitter}` : 'Hello'),

  // Where things stand before anything is known.
  opening: 'Fetching what there is to do…',
  firstTitle: 'This page needs signal once',
  firstText:
    'It has to fetch what there is to do. After that it works without signal, also in a cellar. It looks again by itself as soon as there is signal.',
  again: 'Try now',
  unknownTitle: 'This link opens nothing',
  unknownText:
    'Maybe it was cut short when it was sent. Ask for the link or the code again; nothing is lost by that.',
  endedTitle: 'This pass is over',
  endedText:
    'It was closed, so there is nothing more for you to do here. Thank you for looking in. If that surprises you, ask whoever sent it.',
  lateTitle: 'The trip is over',
  lateText: 'The days of this pass have passed. Thank you for looking after them.',
  keptTitle: (n: number) => `${count(n, 'thing', 'things')} you noted did not get through`,
  keptText: 'They are still on this phone. You can read them out on the telephone.',
  doneText:
    'You can close this page, and take it off the home screen if you put it there. For another trip you get another link.',
  app: 'This phone is signed in to the household: open the app',
  brokenTitle: 'This phone does not keep anything for this page',
  brokenText:
    'Its storage is closed, as in a private window. Open the link in an ordinary window, so that nothing you note gets lost.',

  // Between visits.
  whose: 'You are looking after somebody’s boxes of woodlice. This page says what they want, and when.',
  nextTitle: 'Your next visit',
  firstVisit: 'Your first visit',
  todayTitle: 'Today is a visit',
  missedTitle: (day: string) => `The visit of ${day} is still open`,
  missedText: 'That is no disaster. If you can, do it now.',
  between: (from: string, to: string) => `any time between ${from} and ${to}`,
  inDays(days: number): string {
    return days === 0 ? 'today' : days === 1 ? 'tomorrow' : `in ${days} days`
  },
  day: (weekday: string, date: string) => `${weekday}, ${date}`,
  begunTitle: 'A visit has begun',
  boxCount: (n: number) => count(n, 'box', 'boxes'),
  boxes: (n: number, minutes: number) =>
    `${count(n, 'box', 'boxes')}, about ${count(minutes, 'minute', 'minutes')}.`,
  start: 'Start the visit',
  resume: (n: number) => `Go on with box ${n}`,
  early: 'I am here already',
  earlyHelp: 'You can also come on another day: what to do is decided by what you feel.',
  noMore: 'No more visits',
  noMoreText: (day: string) => `Everything is done until ${day}. Thank you.`,
  noVisits: (day: string) =>
    `As it looks now, nobody has to come before ${day}. This page says so if that changes.`,
  allVisits: (n: number) => `All ${n} visits`,
  done: 'done',
  bring: 'What you need',
  spoon: 'a tablespoon',
  water: 'a jug of clean water at room temperature',
  towel: 'a towel for wet hands',
  foodIn: (food: string) => `a little ${food}`,
  leavesBag: 'the dry leaves that are put ready',
  notTitle: 'Please do not',
  nots: {
    lids: 'open boxes that this page does not name',
    spray: 'water “to be on the safe side”: too wet is as bad as too dry',
    feed: 'feed anything else, however good it looks',
    sun: 'move boxes, or put them in the sun or near a heater',
    out: 'let animals out, or tip anything into the garden',
  },
  callTitle: 'If you are unsure',
  call: 'Call:',
  notThis: (place: string, name: string) => `open ${place}, ${name}`,
  callNumber: (number: string) => `Call ${number}`,
  aboutTitle: 'What lives in there?',
  about:
    'Woodlice: small, slow, harmless, with fourteen legs. They hide in damp soil under leaves and live on rotting things. They breathe through gills, so one end of each box is kept damp and the other dry. Tiny white jumping dots are springtails; they belong there and eat mould.',
  hygiene: 'Wash your hands afterwards. If you are allergic to shrimps or house dust mites, wear gloves.',
  light: 'Light of this page',

  // What is kept and sent.
  ready: 'Everything is on this phone. It works without signal.',
  readying: 'Still fetching what is needed without signal. Keep this page open for a moment.',
  notReady: 'This browser keeps nothing for later: you need signal during the visit.',
  kept: (n: number) => (n === 1 ? '1 note is kept on this phone.' : `${n} notes are kept on this phone.`),
  sends: 'They go by themselves when there is signal.',
  sending: 'Sending…',
  allSent: 'Everything you noted has arrived.',
  refused: (n: number) => `${count(n, 'note was', 'notes were')} not taken:`,
  installTitle: 'Keep it at hand',
  installIos: 'Tap Share, then Add to Home Screen. The page then waits there for your next visit.',
  installAndroid:
    'In the browser’s menu choose Add to Home screen. The page then waits there for your next visit.',
  install: 'Put it on the home screen',
  installRead: 'Not now',

  // The walk.
  of: (n: number, all: number) => `Box ${n} of ${all}`,
  progress: (done: number, all: number) => `${done} of ${all} boxes done`,
  /** West, shelf 2 from the top, number 3 from the left. */
  where: (rack: string, shelf: number, position: number) =>
    `${shelfOf(rack, shelf)} from the top, number ${position} from the left`,
  label: (place: string) => `Its label says ${place}.`,
  called: (name: string) => (name ? `In it live: ${name}.` : ''),
  box: (place: string, name: string) => `${place}, ${name}`,
  drawing: (end: End) => `Drawing of the box, seen from its side. The damp end is the ${ENDS[end]}.`,
  /** What stands under an end of the drawing. */
  endOf(end: End, damp: boolean): string {
    if (end === 'left' || end === 'right') return damp ? 'damp end' : 'dry end'
    const far = (end === 'front') === damp ? 'front' : 'back'
    return damp ? `damp end, ${far}` : `dry end, ${far}`
  },
  photo: (name: string) => `Photo: ${name}`,

  find: 'Find this box',
  found: 'It is in front of me',
  notFound: 'I cannot find it',

  feel: (end: End) => `Lid off: press a finger into the soil at the ${ENDS[end]}`,
  feelHelp: 'One knuckle deep. How does it feel?',
  answers: {
    dry: { word: 'Dry', help: 'crumbly, dust on the finger' },
    barely: { word: 'Barely damp', help: 'cool, but nothing sticks' },
    damp: { word: 'Damp', help: 'like a wrung-out sponge' },
    soaked: { word: 'Wet', help: 'water shows when you press' },
  } as Record<'dry' | 'barely' | 'damp' | 'soaked', { word: string; help: string }>,
  fine: 'Damp already? Then nothing to do',
  fineHelp: 'No water today. That is just how it should be.',
  fineWet: 'Wet enough: no water',
  fineWetHelp: 'Leave it as it is. It dries by itself.',
  good: 'Good, go on',
  pour: (dose: string, end: End) => `Pour ${dose} onto the soil at the ${ENDS[end]}`,
  pourHelp: 'Spoon by spoon, only at that end. The other end stays dry.',
  poured: (spoons: string) => `I gave ${spoons}`,
  notPoured: 'I gave none',
  dose: (spoons: string, ml: number) => `${spoons} (${ml}\u00a0mL)`,
  doseMl: (ml: number, spoons: string) => `${ml}\u00a0mL (${spoons})`,
  ml: (ml: number) => `${ml}\u00a0mL`,
  tablespoons: (n: number, written: string) => `${written}\u00a0${n > 1 ? 'tablespoons' : 'tablespoon'}`,
  teaspoons: (n: number, written: string) => `${written}\u00a0${n > 1 ? 'teaspoons' : 'teaspoon'}`,
  leftovers: (food: string) => `Is there ${food} left?`,
  leftoversHelp: 'Old food goes mouldy in a closed box. What is furry comes out, whole.',
  leftAnswers: {
    'all gone': { word: 'All gone', help: '' },
    clean: { word: 'Some, and clean', help: 'leave it' },
    furry: { word: 'Furry or slimy', help: 'lift it out and throw it away' },
  },
  feed: (food: string, pieces: number, side: 'damp' | 'dry', dampEnd: End) =>
    `Lay ${pieces > 1 ? `${pieces} pieces` : 'one piece'} of ${food} at the ${side} end, ${SIDES[side === 'damp' ? dampEnd : OPPOSITE[dampEnd]]}`,
  feedHelp: 'About the size of your thumbnail, on top of the soil.',
  fed: 'It is in',
  noFood: 'There was none',
  leaves: (n: number, handfuls: string) =>
    `Lay ${n === 0.5 ? 'half a handful' : n === 1 ? 'a handful' : handfuls} of leaves on top`,
  leavesHelp: 'The dry brown leaves put ready for you. They are food and roof at once.',
  leavesIn: 'They are in',
  noLeaves: 'There were none',
  shut: 'Put the lid back on',
  shutHelp: 'All round, so that nobody walks out.',
  isShut: (last: boolean) => (last ? 'It is shut: finish' : 'It is shut: next box'),
  keepShut: 'Handle this one with care: there may be young. Open it only as long as you need.',
  undo: 'Undo',
  undoOf: (what: string) => `Undo: ${what}`,
  said: {
    found: 'found it',
    fine: 'no water needed',
    poured: (spoons: string) => `gave ${spoons}`,
    notPoured: 'gave no water',
    fed: (food: string) => `${food} is in`,
    noFood: 'no food given',
    leavesIn: 'leaves are in',
    noLeaves: 'no leaves given',
    shut: 'the lid is on',
    skipped: 'left this box',
  },
  pause: 'Pause',

  // Something is wrong.
  wrong: 'Something is wrong',
  wrongTitle: 'What is wrong?',
  wrongLead: 'A few words are enough. It reaches the owner at once, or as soon as this phone has signal.',
  wrongAll: 'It is about the room, or all of them',
  wrongAbout: 'Which box?',
  wrongWords: 'In your words',
  wrongHint: 'For example: “it smells”, “the lid is cracked”, “there is water on the floor”.',
  wrongPhoto: 'Add a photo',
  wrongAnother: 'Another photo',
  wrongNoPhoto: 'Take the photo off',
  wrongPicture: 'The photo you took',
  wrongSend: 'Tell the owner',
  wrongEmpty: 'Write a few words, or add a photo.',
  wrongKeptTitle: 'Told',
  wrongSent: 'It has reached the owner’s server, which rings their phones where they let it.',
  wrongWaits: 'It is kept on this phone and goes by itself as soon as there is signal.',
  wrongCall: 'If it cannot wait:',
  wrongRehearsal: 'In a rehearsal nothing is sent.',
  seePhoto: 'See the photo.',
  lost: (place: string) => `I cannot find box ${place}.`,
  notKept: (why: string) => `This phone could not keep that: ${why}`,
  wrongSkip: 'Leave this box and go on',
  wrongBack: 'Back to this box',
  close: 'Close',

  // The end.
  thanksTitle: (sitter: string) => (sitter ? `Thank you, ${sitter}` : 'Thank you'),
  thanksText: (n: number) => (n === 1 ? 'The box is seen to.' : `All ${n} boxes are seen to.`),
  thanksSkipped: (n: number, of: number) => `${n} of ${of} boxes are seen to; the rest was left as it is.`,
  thanksNext: 'Please come again on',
  thanksNone: 'That was the last visit.',
  washHands: 'Wash your hands, and put the spoon where it was.',
  mayChange: 'The next day may move with what you found. This page says so.',
  toStart: 'To the overview',
}
