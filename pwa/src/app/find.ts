/** One box over bins: by place, name, kind and line. Pure. */
import type { Bin, Kind } from '../types'
import { place } from '../words/phrases'

/** Lower case, no accents, no signs: w2 3, W2-3 and "w23" are the same place. */
function plain(text: string): string {
  return text.normalize('NFD').replace(/\p{M}/gu, '').toLowerCase()
}

const squeezed = (text: string) => plain(text).replace(/[^\p{L}\p{N}]/gu, '')

/** The one bin whose place code is exactly what was typed. */
export function atPlace(bins: Bin[], typed: string): Bin | undefined {
  const code = squeezed(typed)
  const found = code === '' ? [] : bins.filter((bin) => squeezed(place(bin)) === code)
  return found.length === 1 ? found[0] : undefined
}

/** Bins that hold every word that was typed; the ones whose place or name begins with it first. */
export function findBins(bins: Bin[], kinds: Kind[], typed: string): Bin[] {
  const words = plain(typed).split(/\s+/).filter(Boolean)
  if (words.length === 0) return []
  const named = new Map(kinds.map((kind) => [kind.slug, kind.name]))
  const whole = squeezed(typed)
  const begins = (bin: Bin) => squeezed(place(bin)).startsWith(whole) || squeezed(bin.name).startsWith(whole)
  return bins
    .filter((bin) => {
      const text = plain(
        [place(bin), bin.name, bin.rack, named.get(bin.kind) ?? bin.kind, bin.line ?? ''].join(' '),
      )
      return words.every((word) => text.includes(word)) || squeezed(place(bin)).startsWith(whole)
    })
    .sort((a, b) => Number(begins(b)) - Number(begins(a)))
}

/** Kinds whose name holds every word that was typed. */
export function findKinds(kinds: Kind[], typed: string): Kind[] {
  const words = plain(typed).split(/\s+/).filter(Boolean)
  return words.length === 0
    ? []
    : kinds.filter((kind) => words.every((word) => plain(kind.name).includes(word)))
}
