/** The geometry of the diagram of what was called against what was found. Pure. */
import type { Tenth } from '../sync/honesty'

export const DIAGRAM = { width: 340, height: 300, left: 56, right: 14, top: 14, bottom: 46 }

export const x = (share: number): number =>
  DIAGRAM.left + share * (DIAGRAM.width - DIAGRAM.left - DIAGRAM.right)

export const y = (share: number): number =>
  DIAGRAM.top + (1 - share) * (DIAGRAM.height - DIAGRAM.top - DIAGRAM.bottom)

export interface Dot {
  x: number
  y: number
  r: number
  low: number // the ends of the bar
  high: number
}

const SMALLEST = 4
const LARGEST = 13

/** A dot whose area follows its looks, with the 95 % bounds of the share found. */
export function dot(tenth: Tenth, most: number): Dot {
  const [low, high] = bounds(Math.round(tenth.observed * tenth.n), tenth.n)
  return {
    x: x(tenth.called),
    y: y(tenth.observed),
    r: Math.max(SMALLEST, LARGEST * Math.sqrt(tenth.n / Math.max(1, most))),
    low: y(low),
    high: y(high),
  }
}

/** 95 % bounds of a share from so many of n (E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209-212). */
export function bounds(times: number, n: number): [number, number] {
  if (n < 1) return [0, 1]
  const z = 1.959963984540054
  const share = times / n
  const middle = share + (z * z) / (2 * n)
  const half = z * Math.sqrt((share * (1 - share)) / n + (z * z) / (4 * n * n))
  const whole = 1 + (z * z) / n
  return [Math.max(0, (middle - half) / whole), Math.min(1, (middle + half) / whole)]
}
