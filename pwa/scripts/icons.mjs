/**
 * Draws the app's icons from public/icons/mark.svg with Chromium. The maskable
 * ones keep the drawing within the middle four fifths, which every mask shows.
 */
import { readFileSync, writeFileSync } from 'node:fs'
import { chromium } from 'playwright-core'
import { CHROMIUM, FLAGS } from './chromium.mjs'

const here = new URL('../public/icons/', import.meta.url)
const mark = readFileSync(new URL('mark.svg', here), 'utf8')

/** Only the silhouette: systems colour the badge themselves and use nothing but its opacity. */
const badge = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 512 512">
  <path fill="#fff" d="M60 330a196 196 0 0 1 392 0zM40 362h432v40H40zM120 432h272v36H120z"/></svg>`

const icons = [
  { file: 'icon-180.png', size: 180, svg: mark },
  { file: 'icon-192.png', size: 192, svg: mark },
  { file: 'icon-512.png', size: 512, svg: mark },
  { file: 'maskable-192.png', size: 192, svg: mark, maskable: true },
  { file: 'maskable-512.png', size: 512, svg: mark, maskable: true },
  { file: 'badge-96.png', size: 96, svg: badge },
]

const browser = await chromium.launch({ executablePath: CHROMIUM, args: FLAGS })
for (const { file, size, svg, maskable } of icons) {
  const page = await browser.newPage({ viewport: { width: size, height: size } })
  const inner = maskable ? size * 0.8 : size
  // Sky and soil go on to the edge behind a drawing made smaller.
  const ground = maskable ? 'linear-gradient(#f3eee2 56.9%, #7a5a3f 56.9%)' : 'transparent'
  await page.setContent(
    `<style>body{margin:0;background:${ground};display:grid;place-items:center;height:100vh}
     svg{width:${inner}px;height:${inner}px;display:block}</style>${svg}`,
  )
  writeFileSync(new URL(file, here), await page.screenshot({ omitBackground: true }))
  await page.close()
}
await browser.close()
console.log(`${icons.length} icons drawn`)
