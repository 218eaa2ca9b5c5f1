/**
 * A chance as a keeper would say it. Small denominators are understood at a
 * glance; anything finer would claim more than a forecast knows.
 */
const DENOMINATORS = [2, 3, 4, 5, 6, 10, 20]

export interface Odds {
  times: number
  of: number
}

/** The nearest simple fraction to p; null near 0 and near 1, which have words of their own. */
export function simpleOdds(p: number): Odds | null {
  if (!(p >= 0.03) || p > 0.97) return null
  let best: Odds = { times: 1, of: 2 }
  let distance = Infinity
  for (const of of DENOMINATORS) {
    const times = Math.round(p * of)
    if (times < 1 || times >= of) continue
    if (of === 20 && times > 1 && times < 19) continue // twentieths are for the rare and the near-certain
    const off = Math.abs(p - times / of)
    if (off < distance - 0.004) {
      best = { times, of }
      distance = off
    }
  }
  return best
}
