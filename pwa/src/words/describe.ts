/** The text equivalent of a bin drawing: the same facts, in one sentence after the other. */
import type { Bin, Glance, Opening } from '../types'
import { capital, drawing, list, odds } from './en'
import { span } from './phrases'

export function describe(bin: Bin, glance: Glance | null, now: Date): string {
  const parts = glance ? [damp(bin, glance), ground(glance), ...food(glance, now)] : [drawing.unknown]
  return [...parts, vents(bin)].map((part) => `${capital(part)}.`).join(' ')
}

function damp(bin: Bin, glance: Glance): string {
  const percent = (level: number) => Math.round(Math.min(1, Math.max(0, level) * bin.damp_share) * 20) * 5
  const end = drawing.end[bin.damp_end]
  return `${drawing.damp(end, percent(glance.damp.low), percent(glance.damp.high))}; ${drawing.dryChance(odds.chance(glance.dry))}`
}

function ground(glance: Glance): string {
  const leaves = glance.leaves.mean < 0.2 ? 'bare' : glance.leaves.mean < 0.6 ? 'thin' : 'plenty'
  const soil = glance.fresh.mean > 0.66 ? 'fresh' : glance.fresh.mean > 0.33 ? 'mixed' : 'frass'
  return `${drawing.leaves[leaves]}, ${drawing.soil[soil]}`
}

function food(glance: Glance, now: Date): string[] {
  const lying = glance.food ?? []
  if (lying.length === 0) return [drawing.noFood]
  return lying.map((one) =>
    drawing.food(one.food, span(new Date(one.since), now), odds.chance(one.gone), odds.chance(one.mouldy)),
  )
}

function vents(bin: Bin): string {
  const parts = (bin.openings ?? []).map(vent)
  const all = parts.length === 0 ? [drawing.noVents] : parts
  return list(bin.springtails ? [...all, drawing.springtails] : all)
}

function vent(o: Opening): string {
  const many = o.count ?? 1
  const mesh = (o.mesh_open_share ?? 1) < 1
  if (o.where === 'lid') return o.shape === 'round' ? drawing.lidHoles(many) : drawing.lidCut(many, mesh)
  return o.shape === 'round' ? drawing.wallHoles(many) : drawing.wallCut(many, mesh)
}
