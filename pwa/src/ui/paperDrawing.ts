/**
 * The bin drawing for paper: the same geometry as on the screen, in black and
 * greys, with the damp where it should be rather than where it is now.
 */
import type { PaperDrawing } from '../sync/paper'
import type { Bin } from '../types'
import * as draw from './drawing'

const box = (x: number, y: number, width: number, height: number) =>
  `M${x} ${y}H${x + width}V${y + height}H${x}Z`

const SIDES = 32 // of a round hole

/** A round hole. */
function disc(x: number, y: number, width: number, height: number): string {
  const points = Array.from({ length: SIDES }, (_, i) => {
    const turn = (i / SIDES) * 2 * Math.PI
    const [px, py] = [x + (width / 2) * (1 + Math.cos(turn)), y + (height / 2) * (1 + Math.sin(turn))]
    return `${px.toFixed(2)} ${py.toFixed(2)}`
  })
  return `M${points.join('L')}Z`
}

/** left and right are what is said under the ends. */
export function paperDrawing(bin: Bin, left: string, right: string): PaperDrawing {
  const t = draw.tub(bin)
  const outline = draw.outline(t)
  const soil = draw.soil(bin, t)
  const span = t.right - t.left
  const damp = draw.reach(bin, { mean: 1, low: 1, high: 1 }).mean * span
  const wet = box(draw.dampLeft(bin) ? t.left : t.right - damp, 0, damp, draw.VIEW.height)
  const holes = draw.holes(bin, t)
  const top = Math.floor(t.lidTop - 3)
  return {
    top,
    width: draw.VIEW.width,
    height: draw.VIEW.height - 8 - top, // without the measure under the foot
    left,
    right,
    layers: [
      { path: soil, fill: 0.94, within: [outline] },
      { path: wet, fill: 0.78, within: [outline, soil] },
      { path: draw.ripples(bin, t, 'medium'), line: 1.4, within: [outline, soil, wet] },
      { path: soil, line: 1, within: [outline] },
      ...holes
        .filter((hole) => hole.y > t.lidBottom)
        .map(({ x, y, width, height, round }) => ({
          path: (round ? disc : box)(x, y, width, height),
          line: 1.2,
        })),
      { path: outline, line: 2.4 },
      { path: box(t.left - 6, t.lidTop, span + 12, t.lidBottom - t.lidTop), fill: 0 },
      ...holes
        .filter((hole) => hole.y <= t.lidBottom)
        .map(({ x, y, width, height }) => ({ path: box(x, y + 0.6, width, height - 1.2), fill: 1 })),
    ],
  }
}
