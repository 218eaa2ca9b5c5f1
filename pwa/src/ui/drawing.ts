/**
 * The geometry of the bin drawing: a side section of the tub, in the units of
 * a 240 by 160 view box, computed from the bin's measures and its state and
 * from nothing else. Where a keeper cannot know (which leaf lies where), the
 * places come from the bin's id, so that a drawing keeps its face.
 */
import type { Bin, Glance, Level, Lying, Opening } from '../types'

export const VIEW = { width: 240, height: 160, floor: 147 }
const ROOM = { width: 212, height: 112 } // for the tub itself, lid and ring apart
export const MOST_LEAVES = 24

export type Size = 'small' | 'medium' | 'large'

export interface Tub {
  left: number
  right: number
  top: number
  taper: number // how much further in the foot is than the rim, on each side
  corner: number
  lidTop: number
  lidBottom: number
  scale: number // view units for a millimetre along the section
}

export interface Hole {
  x: number
  y: number
  width: number
  height: number
  round: boolean
  mesh: boolean
}

export interface Leaf {
  x: number
  y: number
  turn: number
  size: number
  shape: number
  tone: number
  here: boolean // as deep as the gauge says
  maybe: boolean // between the gauge's mean and its upper end
}

export interface Morsel {
  lying: Lying
  x: number
  y: number
  gone: string
  mouldy: string
  fuzz: number // hairs, 0 to 12
}

/** The inside measure that the section runs along, in mm: damp at one end of it. */
export function along(bin: Bin): number {
  return bin.damp_end === 'left' || bin.damp_end === 'right' ? bin.length_mm : bin.width_mm
}

/** Whether the damp end is drawn on the left: front is drawn left, back right. */
export function dampLeft(bin: Bin): boolean {
  return bin.damp_end === 'left' || bin.damp_end === 'front'
}

export function tub(bin: Bin): Tub {
  const span = Math.max(1, along(bin))
  const tall = Math.max(1, bin.height_mm)
  const scale = Math.min(ROOM.width / span, ROOM.height / tall)
  // Very flat or very narrow tubs stay drawable: their contents need room.
  const width = Math.max(64, span * scale)
  const height = Math.max(44, tall * scale)
  const left = (VIEW.width - width) / 2
  const top = VIEW.floor - height
  const gap = Math.min(4, Math.max(0, bin.lid_gap_mm) * 2.5)
  const round = bin.shape === 'round'
  return {
    left,
    right: left + width,
    top,
    taper: width * (round ? 0.07 : 0.035),
    corner: round ? Math.min(22, height * 0.22) : 4,
    lidBottom: top - gap,
    lidTop: top - gap - 7,
    scale: width / span,
  }
}

/** Where the inside wall is at height y, counted from the rim. */
function wallAt(t: Tub, y: number): { left: number; right: number } {
  const share = (y - t.top) / (VIEW.floor - t.top)
  return { left: t.left + t.taper * share, right: t.right - t.taper * share }
}

export function outline(t: Tub): string {
  const foot = { left: t.left + t.taper, right: t.right - t.taper }
  const c = t.corner
  return (
    `M${n(t.left)} ${n(t.top)}L${n(foot.left)} ${n(VIEW.floor - c)}` +
    `Q${n(foot.left)} ${VIEW.floor} ${n(foot.left + c)} ${VIEW.floor}` +
    `H${n(foot.right - c)}Q${n(foot.right)} ${VIEW.floor} ${n(foot.right)} ${n(VIEW.floor - c)}L${n(t.right)} ${n(t.top)}Z`
  )
}

export function soilTop(bin: Bin, t: Tub): number {
  const share = Math.min(0.88, Math.max(0.06, bin.substrate_depth_mm / Math.max(1, bin.height_mm)))
  return VIEW.floor - (VIEW.floor - t.top) * share
}

/** The substrate's area, its surface a little uneven. */
export function soil(bin: Bin, t: Tub): string {
  const y = soilTop(bin, t)
  const next = random(bin.id)
  const { left, right } = wallAt(t, y)
  const steps = 8
  let d = `M${n(left - 2)} ${n(y + wave(next))}`
  for (let i = 1; i <= steps; i++) {
    const x = left + ((right - left) * i) / steps
    const mid = x - (right - left) / steps / 2
    d += `Q${n(mid)} ${n(y + wave(next) * 1.6)} ${n(x + (i === steps ? 2 : 0))} ${n(y + wave(next))}`
  }
  return `${d}L${n(t.right)} ${VIEW.floor + 2}H${n(t.left)}Z`
}

/** How far along the floor the damp reaches, as shares of it from the damp end. */
export function reach(bin: Bin, damp: Level): { low: number; mean: number; high: number } {
  const share = Math.min(1, Math.max(0.1, bin.damp_share))
  const of = (level: number) => Math.min(1, Math.max(0, level) * share)
  const low = of(Math.min(damp.low, damp.high))
  return { low, mean: of(damp.mean), high: Math.max(low + 0.02, of(Math.max(damp.low, damp.high))) }
}

export function leaves(bin: Bin, level: Level, t: Tub, size: Size): Leaf[] {
  const next = random(`${bin.id} leaves`)
  const y = soilTop(bin, t)
  const { left, right } = wallAt(t, y)
  const all = size === 'small' ? 9 : MOST_LEAVES
  const here = Math.round(clamp(level.mean) * all)
  const maybe = Math.round(clamp(level.high) * all)
  const big = (size === 'small' ? 1.5 : 1) * Math.min(1.15, Math.max(0.7, (right - left) / 190))
  const list: Leaf[] = []
  for (let i = 0; i < all; i++) {
    const layer = Math.floor((i * 3) / all)
    // The golden ratio spreads any first few of a sequence evenly.
    const place = (0.5 + i * 0.618034 + next() * 0.06) % 1
    const margin = 12 * big
    list.push({
      x: left + margin + place * (right - left - 2 * margin),
      y: y - 1.5 - layer * 5.2 * big - next() * 2.4,
      turn: (next() - 0.5) * 56,
      size: big * (0.82 + next() * 0.4),
      shape: Math.floor(next() * 3),
      tone: 1 + Math.floor(next() * 3),
      here: i < here,
      maybe: i >= here && i < maybe,
    })
  }
  return list
}

/** Droppings in the substrate, more as it ages, as one path of dots. */
export function crumbs(bin: Bin, fresh: Level, t: Tub, size: Size): string {
  const most = { small: 10, medium: 44, large: 90 }[size]
  const many = Math.round(most * (1 - clamp(fresh.mean)))
  const next = random(`${bin.id} crumbs`)
  const y = soilTop(bin, t)
  let d = ''
  for (let i = 0; i < many; i++) {
    const at = y + 5 + next() * (VIEW.floor - y - 8)
    const { left, right } = wallAt(t, at)
    d += `M${n(left + 4 + next() * (right - left - 8))} ${n(at)}h.01`
  }
  return d
}

/** Small waves inside the damp, so that it is told by more than colour. */
export function ripples(bin: Bin, t: Tub, size: Size): string {
  const y = soilTop(bin, t)
  const rise = size === 'small' ? 14 : 9
  const run = size === 'small' ? 34 : 17
  const high = size === 'small' ? 5 : 2.4
  let d = ''
  let row = 0
  for (let at = y + rise; at < VIEW.floor - 2; at += rise, row++) {
    for (let x = t.left - 8 + (row % 2) * (run / 2); x < t.right; x += run) {
      d += `M${n(x)} ${n(at)}q${n(run / 8)} ${-high} ${n(run / 4)} 0t${n(run / 4)} 0`
    }
  }
  return d
}

export function springtails(bin: Bin, t: Tub): string {
  if (!bin.springtails) return ''
  const next = random(`${bin.id} springtails`)
  const y = soilTop(bin, t)
  const { left, right } = wallAt(t, y)
  let d = ''
  for (let i = 0; i < 9; i++) {
    const toDry = next() * 0.62
    const x = dampLeft(bin) ? left + 8 + toDry * (right - left - 16) : right - 8 - toDry * (right - left - 16)
    d += `M${n(x)} ${n(y - 2 - next() * 4)}h3.2`
  }
  return d
}

const MOST_MORSELS = 3

/** Food that lies in the bin, the oldest first, with its fuse. */
export function morsels(bin: Bin, glance: Glance, t: Tub): Morsel[] {
  const lying = [...(glance.food ?? [])].sort((a, b) => a.since.localeCompare(b.since)).slice(0, MOST_MORSELS)
  const y = soilTop(bin, t)
  const { left, right } = wallAt(t, y)
  const depth = 3 + clamp(glance.leaves.mean) * 15
  return lying.map((one, i) => {
    const fromDry = 0.24 + i * 0.25
    const x = dampLeft(bin) ? right - fromDry * (right - left) : left + fromDry * (right - left)
    const gone = clamp(one.gone)
    const mouldy = Math.min(clamp(one.mouldy), 1 - gone)
    const at = Math.max(t.top + 14, y - depth - 7)
    return {
      lying: one,
      x,
      y: at,
      gone: arc(x, at, RING, 0, gone),
      mouldy: arc(x, at, RING, gone, gone + mouldy),
      fuzz: Math.round(mouldy * 12),
    }
  })
}

export const RING = 12.5

/** A clockwise arc from one share of the circle to another, from 12 o'clock. */
export function arc(x: number, y: number, r: number, from: number, to: number): string {
  if (to - from < 0.01) return ''
  const end = Math.min(to, from + 0.9999)
  const point = (share: number) => {
    const a = share * 2 * Math.PI - Math.PI / 2
    return `${n(x + r * Math.cos(a))} ${n(y + r * Math.sin(a))}`
  }
  return `M${point(from)}A${r} ${r} 0 ${end - from > 0.5 ? 1 : 0} 1 ${point(end)}`
}

/** Hairs of mould around a piece of food. */
export function fuzz(x: number, y: number, hairs: number): string {
  let d = ''
  for (let i = 0; i < hairs; i++) {
    const a = (i / hairs) * 2 * Math.PI + 0.4
    d += `M${n(x + 5 * Math.cos(a))} ${n(y + 5 * Math.sin(a))}L${n(x + 9 * Math.cos(a))} ${n(y + 9 * Math.sin(a))}`
  }
  return d
}

const MOST_HOLES = 9

/** Vents where they are: in the strip of the lid, or in the wall behind the air. */
export function holes(bin: Bin, t: Tub): Hole[] {
  return [...row(bin, t, 'lid'), ...row(bin, t, 'side')]
}

function row(bin: Bin, t: Tub, where: Opening['where']): Hole[] {
  const found: Hole[] = []
  for (const o of bin.openings ?? []) {
    if (o.where !== where) continue
    const round = o.shape === 'round'
    const acrossMm = round
      ? (o.diameter_mm ?? 0)
      : along(bin) === bin.length_mm
        ? (o.length_mm ?? 0)
        : (o.width_mm ?? 0)
    const tallMm = round ? acrossMm : (o.width_mm ?? 0)
    const mesh = (o.mesh_open_share ?? 1) < 1
    const many = Math.min(MOST_HOLES, Math.max(1, o.count ?? 1))
    for (let i = 0; i < many; i++) {
      const width = Math.max(3, acrossMm * t.scale)
      const height = where === 'lid' ? t.lidBottom - t.lidTop : Math.max(3, tallMm * t.scale)
      found.push({ x: 0, y: 0, width, height, round: round && where === 'side', mesh })
    }
  }
  const shown = found.slice(0, MOST_HOLES * 2)
  const air = soilTop(bin, t) - t.top
  const roomFor = t.right - t.left - 10
  const total = shown.reduce((sum, hole) => sum + hole.width, 0)
  const squeeze = Math.min(1, (roomFor - 3 * (shown.length + 1)) / Math.max(1, total))
  const space = (roomFor - total * squeeze) / (shown.length + 1)
  let x = t.left + 5
  for (const hole of shown) {
    hole.width = Math.max(1, hole.width * squeeze)
    if (where === 'side')
      hole.height = Math.min(hole.round ? hole.width : hole.height, Math.max(3, air * 0.45))
    if (hole.round) hole.width = hole.height
    x += space
    hole.x = x
    hole.y = where === 'lid' ? t.lidTop : t.top + Math.max(3, air * 0.14)
    x += hole.width
  }
  return shown
}

export const LEAF_SHAPES = [
  'M-10 0C-6 -6.5 5 -6.5 10.5 0C5 4.8 -6 5.6 -10 0Z',
  'M-11 0C-10 -4 -7 -5.5 -5 -3.2C-4 -7 0 -7 1 -3.6C3 -6.4 7 -5 7 -2C9 -2.4 11 -1 11.5 0C11 1.6 9 2.8 7 2.2C6.6 5 3 6 1 3.6C0 6.6 -4 6.6 -5 3.4C-7 5.4 -10 4 -11 0Z',
  'M-10.5 1C-7 -4.4 0 -7.6 10 -3C7 -.6 8 3 2 4.6C-3 5.8 -8 4.6 -10.5 1Z',
]

/** The level shown where nothing is known yet. */
export const UNKNOWN: Level = { mean: 0, low: 0, high: 0 }

function clamp(x: number): number {
  return Math.min(1, Math.max(0, Number.isFinite(x) ? x : 0))
}

function wave(next: () => number): number {
  return (next() - 0.5) * 3.4
}

function n(x: number): string {
  return String(Math.round(x * 10) / 10)
}

/** The same numbers from 0 to 1 for the same text (FNV-1a, then mulberry32). */
export function random(text: string): () => number {
  let hash = 0x811c9dc5
  for (let i = 0; i < text.length; i++) hash = Math.imul(hash ^ text.charCodeAt(i), 0x01000193)
  return () => {
    hash = (hash + 0x6d2b79f5) | 0
    let x = Math.imul(hash ^ (hash >>> 15), 1 | hash)
    x = (x + Math.imul(x ^ (x >>> 7), 61 | x)) ^ x
    return ((x ^ (x >>> 14)) >>> 0) / 4294967296
  }
}
