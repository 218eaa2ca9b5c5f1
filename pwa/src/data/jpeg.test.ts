import { describe, expect, it } from 'vitest'
import { exif, mustJpeg, segment } from '../test/jpeg'
import { bare, takenAt } from './jpeg'

const text = (bytes: Uint8Array) => String.fromCharCode(...bytes)

describe('what a photo carries', () => {
  const jfif = segment(0xe0, 'JFIF\0\x01\x01')
  const profile = segment(0xe2, 'ICC_PROFILE\0\x01\x01profile')

  it('is only how it looks', () => {
    const file = mustJpeg(
      jfif,
      exif('2026:05:28 19:05:00'),
      segment(0xe1, 'http://ns.adobe.com/xap/1.0/\0<place>'),
      profile,
      segment(0xe2, 'MPF\0another picture'),
      segment(0xed, 'Photoshop 3.0\0town'),
      segment(0xfe, 'a comment'),
    )
    expect(bare(file)).toEqual(mustJpeg(jfif, profile))
    expect(text(bare(file))).not.toMatch(/Exif|GPS|place|MPF|town|comment/)
  })

  it('has nothing behind its end', () => {
    const film = new Uint8Array([
      ...mustJpeg(jfif),
      ...[...'ftypmp42 film'].map((letter) => letter.charCodeAt(0)),
    ])
    expect(bare(film)).toEqual(mustJpeg(jfif))
  })

  it('stays as it is where there is nothing to take out', () => {
    expect(bare(mustJpeg(jfif))).toEqual(mustJpeg(jfif))
    expect(bare(bare(mustJpeg(exif('2026:05:28 19:05:00'))))).toEqual(mustJpeg())
  })

  it('cannot be told of a file that is none, or broken', () => {
    expect(() => bare(new Uint8Array([1, 2, 3]))).toThrow('not a JPEG')
    const whole = mustJpeg(jfif)
    for (let length = 2; length < whole.length; length++) expect(() => bare(whole.slice(0, length))).toThrow()
  })
})

describe('when it was taken', () => {
  it.each([false, true])('the camera says so (little-endian: %s)', (little) => {
    const found = takenAt(mustJpeg(exif('2026:05:28 19:05:07', little)))
    expect(found).toEqual({ year: 2026, month: 5, day: 28, h: 19, m: 5, s: 7 })
  })

  it('is read from the beginning of a file too', () => {
    const whole = mustJpeg(exif('2026:05:28 19:05:07'))
    expect(takenAt(whole.slice(0, 200))).not.toBeNull()
  })

  it('is unknown where nothing says it, or nonsense does', () => {
    expect(takenAt(mustJpeg())).toBeNull()
    expect(takenAt(mustJpeg(exif('    :  :     :  :  ')))).toBeNull()
    expect(takenAt(mustJpeg(segment(0xe1, 'Exif\0\0MM\0*\xff\xff\xff\xff')))).toBeNull()
    expect(takenAt(new Uint8Array([0xff]))).toBeNull()
  })
})
