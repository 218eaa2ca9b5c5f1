import { beforeEach, describe, expect, it, vi } from 'vitest'
import { exif, mustJpeg, segment } from '../test/jpeg'
import { limits } from './limits'
import { makePicture, measures, nameOf, type Opened } from './picture'

const NOW = Date.parse('2026-11-25T12:00:00Z')
const bounds = limits.photos
beforeEach(() => void (bounds.most_bytes = 6000)) // the real one would test the test

/** A browser that draws pictures of the size that its test wants. */
function browser(width: number, height: number, bytesOf: (edge: number, quality: number) => number) {
  const drawn: [number, number, number][] = []
  const close = vi.fn()
  const open = async (): Promise<Opened> => ({
    width,
    height,
    draw: async (width, height, quality) => {
      drawn.push([width, height, quality])
      const filling = Math.max(0, bytesOf(Math.max(width, height), quality) - mustJpeg().length)
      const parts = Array.from({ length: Math.ceil(filling / 600) }, () => segment(0xdb, Array(600).fill(1)))
      return new Blob([mustJpeg(exif('2026:01:01 00:00:00'), ...parts)])
    },
    close,
  })
  return { open, drawn, close }
}

describe('a file becomes a photo', () => {
  it('within the bounds, by its hash, without what the camera wrote', async () => {
    const { open, drawn, close } = browser(4000, 3000, () => 1000)
    const picture = await makePicture(new File(['x'], 'a.jpg', { lastModified: NOW - 1000 }), NOW, open)
    expect([picture.width, picture.height]).toEqual([1600, 1200])
    expect(drawn.at(-1)!.slice(0, 2)).toEqual([320, 240])
    expect(picture.name).toBe(await nameOf(picture.full))
    expect(picture.name).toMatch(/^[0-9a-f]{64}$/)
    for (const bytes of [picture.full, picture.small])
      expect(String.fromCharCode(...bytes)).not.toContain('Exif')
    expect(picture.takenAt).toBe(NOW - 1000)
    expect(close).toHaveBeenCalled()
  })

  it('with less quality, then smaller, until it has few enough bytes', async () => {
    const { open, drawn } = browser(3000, 1000, (edge, quality) => edge * 5 * quality)
    const picture = await makePicture(new Blob(['x']), NOW, open)
    expect(picture.full.length).toBeLessThanOrEqual(bounds.most_bytes)
    expect(drawn.map(([width, , quality]) => [width, quality])).toEqual([
      [1600, 0.82],
      [1600, 0.72],
      [1600, 0.6],
      [320, 0.75],
    ])
    const stubborn = browser(3000, 1000, (edge) => edge * 5)
    expect((await makePicture(new Blob(['x']), NOW, stubborn.open)).width).toBe(1024)
  })

  it('at the time that the camera says, else that of the file, unless neither can be', async () => {
    const { open } = browser(40, 30, () => 100)
    const taken = async (time: string, lastModified: number) => {
      const file = new File([mustJpeg(exif(time))], 'a.jpg', { lastModified })
      return (await makePicture(file, NOW, open)).takenAt
    }
    expect(await taken('2024:05:28 19:05:00', NOW)).toBe(new Date(2024, 4, 28, 19, 5).getTime())
    expect(await taken('2044:05:28 19:05:00', NOW - 5)).toBe(NOW - 5)
    expect(await taken('0000:00:00 00:00:00', NOW + 99_999)).toBeNull()
  })
})

describe('a file becomes no photo', () => {
  const never = async () => {
    throw new DOMException('The source image could not be decoded.', 'InvalidStateError')
  }
  const heic = new Blob([new Uint8Array([0, 0, 0, 24]), 'ftypheic', new Uint8Array(20)])
  const large = { size: 50_000_000, slice: () => new Blob() } as unknown as Blob
  it.each([
    ['empty', new Blob([]), /that file is empty/],
    ['of 50 MB', large, /has 50\u00a0MB. Choose one of at most 42\u00a0MB/],
    ['HEIC that the browser cannot open', heic, /cannot open HEIC/],
    ['a text', new Blob(['hello']), /cannot open that file as a picture/],
  ])('%s', async (_name, file, sentence) => {
    await expect(makePicture(file, NOW, never)).rejects.toThrow(sentence)
  })

  it('without pixels, or too large in every size', async () => {
    const none = browser(0, 10, () => 1)
    await expect(makePicture(new Blob(['x']), NOW, none.open)).rejects.toThrow(/no pixels/)
    expect(none.close).toHaveBeenCalled()
    const huge = browser(4000, 3000, () => bounds.most_bytes + 1)
    await expect(makePicture(new Blob(['x']), NOW, huge.open)).rejects.toThrow(/small enough/)
    expect(huge.close).toHaveBeenCalled()
  })

  it('where the address is not secure', async () => {
    vi.stubGlobal('crypto', {})
    await expect(makePicture(new Blob(['x']), NOW, never)).rejects.toThrow(/secure address/)
    vi.unstubAllGlobals()
  })
})

it.each([
  [4000, 3000, 1600, 1600, 1200],
  [3000, 4000, 1600, 1200, 1600],
  [10_000, 2, 1600, 1600, 1],
  [300, 200, 1600, 300, 200],
])('%d by %d within %d is %d by %d', (width, height, edge, wide, high) => {
  expect(measures(width, height, edge)).toEqual({ width: wide, height: high })
})
