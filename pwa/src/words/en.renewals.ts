/** The calendar of renewals, and what belongs to a renewal. Part of the catalogue en.ts. */
import { count } from './grammar'

export const renewals = {
  title: 'Renewals',
  door: 'Renewals',
  lead: (most: number, all: number) =>
    `${count(all, 'renewal', 'renewals')} in the coming year, ${
      most === 1 ? 'never more than one' : `never more than ${most}`
    } in a week.`,
  help: 'Every bin’s next renewal can be moved: tap it, then tap its new week. The others settle around it.',
  none: 'No bin, no substrate to renew.',
  failed:
    'The calendar could not be worked out. Reload the app; if that does not help, look at the dates of the bins.',
  waiting: 'Laying out the year…',
  weekHas: (day: string, n: number, away: boolean) =>
    `Week of ${day}, ${n === 0 ? 'nothing' : count(n, 'renewal', 'renewals')}${away ? ', you are away' : ''}`,
  put: (place: string, day: string) => `Move ${place} to the week of ${day}`,
  block: (place: string, name: string, day: string) => `${place}, ${name}, week of ${day}`,
  later: (place: string, name: string, day: string) => `${place}, ${name} again, about the week of ${day}`,
  inHand: (place: string, name: string) => `${place} ${name}`,
  wanted: (day: string, off: number) =>
    off === 0
      ? 'In the week in which it is wanted.'
      : `Wanted in the week of ${day}; ${count(Math.abs(off), 'week', 'weeks')} ${off < 0 ? 'earlier' : 'later'} to even out the weeks.`,
  movedByYou: 'You put it there.',
  chooseWeek: 'Tap the week it should move to.',
  release: 'Let the plan choose',
  openBin: 'Open the bin',
  putDown: 'Leave it there',
  keep: 'Keep this plan',
  keepHelp: (n: number) =>
    `${count(n, 'renewal stands', 'renewals stand')} elsewhere than in the plan that you kept. The round goes by the kept plan.`,
  first: 'The round goes by each bin’s own date until you keep a plan.',
  kept: 'The plan is kept: the round follows it.',
  moved: (place: string, day: string) => `${place} moved to the week of ${day}.`,
  awayMark: 'away',
  legendMoved: 'put there by you',
  legendChange: 'not yet in the kept plan',
  legendLater: 'without a frame: the time after that',

  young: 'Saw young',
  youngSaid: 'young seen',
  youngHelp: 'Young animals keep the substrate where it is for a fortnight.',
  listTitle: 'Before you renew',
  list: [
    'Save the young: sift the old substrate by hand, or keep it damp in a spare tub and look again in two weeks.',
    'Mix a part of the old substrate into the new one, unless there were mites or a crash.',
    'Damp one side only, then the leaves on top.',
    'A calcium source in reach: cuttlebone, eggshell or limestone.',
    'Write the new date on the label.',
  ],
}
