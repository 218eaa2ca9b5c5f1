/** What is left of a thing and when it runs out, as sentences. */
import type { Thing } from '../app/things'
import type { Held } from '../types'
import { amountOf, larder as words, rounded } from './en.larder'
import type { Setting } from './phrases'
import { dayOf, shortDay, writtenDay } from './when'

export function leftText({ held, finished, unit }: Thing): string {
  if (finished) return words.gone
  if (!held) return ''
  if (!held.known)
    return held.share.mean > 0 ? words.shareLeft(Math.round(100 * held.share.mean)) : words.unknownLeft
  const { mean, low, high } = held.left
  return words.left(amountOf(mean, unit), rounded(low, unit), rounded(high, unit))
}

const day = (text: string, s: Setting) => {
  const at = new Date(text)
  return at.getTime() - s.now.getTime() < 200 * 86_400_000
    ? shortDay(at, s.zone, s.now).replace(/^\p{L}+\.?,? /u, '')
    : writtenDay(dayOf(at, s.zone))
}

export function outText(held: Held, s: Setting): string {
  const out = held.runs_out
  if (!out) return ''
  if (Date.parse(out.about) <= s.now.getTime() + 43_200_000) return words.outNow
  return out.to
    ? words.runsOutSpan(day(out.about, s), day(out.from, s), day(out.to, s))
    : words.runsOutOpen(day(out.about, s), day(out.from, s))
}
