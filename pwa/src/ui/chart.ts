/** The geometry of the dampness chart. Pure: points in, path texts out. */
import type { FanPoint } from '../types'

export const FAN = { width: 640, height: 250, left: 6, right: 6, top: 14, bottom: 34 }

/** The level at the top edge: a little over what is ever shown. */
export const TOP_LEVEL = 1.15

export interface Scale {
  x: (at: number) => number
  y: (level: number) => number
  from: number
  to: number
}

export function scale(from: number, to: number, left = FAN.left): Scale {
  const wide = FAN.width - left - FAN.right
  const tall = FAN.height - FAN.top - FAN.bottom
  return {
    from,
    to,
    x: (at) => left + ((at - from) / Math.max(1, to - from)) * wide,
    y: (level) => FAN.top + (1 - Math.min(TOP_LEVEL, Math.max(0, level)) / TOP_LEVEL) * tall,
  }
}

type Quantile = 'p05' | 'p25' | 'p50' | 'p75' | 'p95'

export function band(points: FanPoint[], low: Quantile, high: Quantile, s: Scale): string {
  if (points.length < 2) return ''
  const there = points.map((p) => `${n(s.x(Date.parse(p.at)))} ${n(s.y(p[high]))}`)
  const back = [...points].reverse().map((p) => `${n(s.x(Date.parse(p.at)))} ${n(s.y(p[low]))}`)
  return `M${there.join('L')}L${back.join('L')}Z`
}

export function trace(points: FanPoint[], which: Quantile, s: Scale): string {
  if (points.length < 2) return ''
  return `M${points.map((p) => `${n(s.x(Date.parse(p.at)))} ${n(s.y(p[which]))}`).join('L')}`
}

/** The level at an instant, between the points around it. */
export function levelAt(points: FanPoint[], at: number): number {
  let before = points[0]
  if (!before) return 0
  for (const point of points) {
    const t = Date.parse(point.at)
    if (t >= at) {
      const t0 = Date.parse(before.at)
      if (t === t0) return point.p50
      return before.p50 + ((point.p50 - before.p50) * Math.max(0, at - t0)) / (t - t0)
    }
    before = point
  }
  return before.p50
}

/** One row of the table behind the chart for each day: the point nearest to its noon. */
export function daily<T extends { at: string }>(points: T[], dayOf: (at: Date) => string): T[] {
  const days = new Map<string, T>()
  for (const point of points) {
    const day = dayOf(new Date(point.at))
    if (!days.has(day)) days.set(day, point)
  }
  return [...days.values()]
}

function n(x: number): string {
  return String(Math.round(x * 10) / 10)
}

const DAY = 86_400_000

/** Instants for the labels of the time axis, so many days apart, clear of both edges. */
export function ticks(s: Scale, everyDays: number): number[] {
  const list: number[] = []
  const first = Math.ceil(s.from / DAY) * DAY + DAY / 2
  for (let at = first; at < s.to; at += everyDays * DAY) {
    if (s.x(at) > 30 && s.x(at) < FAN.width - 30) list.push(at)
  }
  return list
}

/** A disc filled from below like a glass, by a share from 0 to 1. */
export function poured(x: number, y: number, r: number, share: number): string {
  if (share <= 0) return ''
  if (share >= 1) return `M${n(x - r)} ${n(y)}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0Z`
  const top = y + r - 2 * r * share
  const half = Math.sqrt(r * r - (top - y) ** 2)
  return `M${n(x - half)} ${n(top)}A${r} ${r} 0 ${share > 0.5 ? 1 : 0} 0 ${n(x + half)} ${n(top)}Z`
}
