/** What a sitter finds wrong, until it is seen to. Part of the catalogue en.ts. */

export const wrongLine = {
  line: (who: string, place: string, n: number) =>
    `${who || 'The sitter'}: something is wrong${place ? ` at ${place}` : ''}${n > 1 ? `, and ${n - 1} more` : ''}`,
  seenTo: 'I have seen to it',
  /** The note that says so in the notebook; what was said follows, cut short. */
  note: (said: string) => `Seen to: ${said.length > 200 ? `${said.slice(0, 200)}…` : said}`,
  done: 'Seen to.',
  help: 'It stays on the Round until you say so, or log something at the bin.',
}
