import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'

/** Relative luminance and contrast as WCAG 2.2 defines them. */
function luminance(hex: string): number {
  const [r, g, b] = [1, 3, 5].map((i) => {
    const c = parseInt(hex.slice(i, i + 2), 16) / 255
    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4
  }) as [number, number, number]
  return 0.2126 * r + 0.7152 * g + 0.0722 * b
}

function contrast(a: string, b: string): number {
  const [light, dark] = [luminance(a), luminance(b)].sort((x, y) => y - x) as [number, number]
  return (light + 0.05) / (dark + 0.05)
}

// Black on white is 21:1; #767676 on white is the well-known grey just above 4.5:1.
it('the yardstick itself', () => {
  expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 6)
  expect(contrast('#767676', '#ffffff')).toBeCloseTo(4.54, 2)
  expect(contrast('#777777', '#ffffff')).toBeLessThan(4.5)
})

const css = readFileSync(new URL('./tokens.css', import.meta.url), 'utf8')

describe.each(['day', 'dusk', 'red'])('%s', (light) => {
  const block = new RegExp(`\\[data-light='${light}'\\] \\{([^}]*)\\}`).exec(css)?.[1] ?? ''
  const colour = (name: string): string => {
    const found = new RegExp(`--${name}: (#[0-9a-f]{6});`).exec(block)?.[1]
    if (!found) throw new Error(`no colour ${name} in ${light}`)
    return found
  }
  const pairs: [string, string, number][] = [
    ...['ink', 'ink-soft', 'humus', 'ochre', 'damp', 'alarm'].flatMap((text) =>
      ['paper', 'card', 'sunk'].map((ground): [string, string, number] => [text, ground, 4.5]),
    ),
    ['on-press', 'press', 4.5],
    ...[1, 2, 3, 4].map((n): [string, string, number] => ['on-tint', `tint-${n}`, 4.5]),
    ...['paper', 'card'].map((ground): [string, string, number] => ['edge', ground, 3]),
    ...['paper', 'card'].map((ground): [string, string, number] => ['press-edge', ground, 3]),
    ...['paper', 'card', 'sunk'].map((ground): [string, string, number] => ['focus', ground, 3]),
    ['draw-wall', 'paper', 3],
    ['draw-wall', 'draw-air', 3],
    ['draw-ripple', 'draw-water', 3],
    ['draw-gone', 'draw-air', 3],
    ['draw-mould', 'draw-air', 3],
  ]
  it.each(pairs)('%s on %s reaches %f', (text, ground, least) => {
    expect(contrast(colour(text), colour(ground))).toBeGreaterThanOrEqual(least)
  })
})
