/** Pictures kept beside the tests, and how much a new one may differ. UPDATE=1 draws them anew. */
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { results } from './server.mjs'

const kept = fileURLToPath(new URL('./pictures/', import.meta.url))

/**
 * The share of a picture that differs. Both are averaged over squares of 4
 * pixels first, so that the edges of letters and of lines, which differ from
 * one machine's fonts to another's, weigh little; a colour, a reach or a leaf
 * that is not where it was weighs all.
 */
function apart(page, one, other) {
  return page.evaluate(
    async ([one, other]) => {
      const small = async (data) => {
        const bytes = Uint8Array.from(atob(data), (letter) => letter.charCodeAt(0))
        const image = await createImageBitmap(new Blob([bytes]))
        const canvas = new OffscreenCanvas(Math.ceil(image.width / 4), Math.ceil(image.height / 4))
        const context = canvas.getContext('2d')
        context.imageSmoothingQuality = 'high'
        context.drawImage(image, 0, 0, canvas.width, canvas.height)
        return context.getImageData(0, 0, canvas.width, canvas.height)
      }
      const [a, b] = [await small(one), await small(other)]
      if (a.width !== b.width || Math.abs(a.height - b.height) > 2) return 1
      const length = Math.min(a.data.length, b.data.length)
      let differ = 0
      for (let i = 0; i < length; i += 4) {
        const most = Math.max(...[0, 1, 2].map((c) => Math.abs(a.data[i + c] - b.data[i + c])))
        if (most > 14) differ++
      }
      return differ / (length / 4)
    },
    [one, other],
  )
}

/** Compares a picture (PNG) with the kept one of its name; answers what is wrong, an empty list where nothing is. */
export async function compare(page, name, now, tolerance) {
  const file = join(kept, name)
  mkdirSync(kept, { recursive: true })
  if (process.env.UPDATE) {
    writeFileSync(file, now)
    return []
  }
  const share = await apart(page, readFileSync(file).toString('base64'), now.toString('base64'))
  if (share <= tolerance) return []
  writeFileSync(join(results, name), now)
  return [`${name}: ${(100 * share).toFixed(2)} % differs; the new one is in test-results`]
}
