/** JPEG files as far as photos need to know them: what a file carries besides the picture (ITU-T T.81, annex B). */

const START = 0xd8
const END = 0xd9
const SCAN = 0xda
const COMMENT = 0xfe

/** The file without anything that says more than how it looks: no EXIF, no place, no words, nothing behind its end. */
export function bare(file: Uint8Array<ArrayBuffer>): Uint8Array<ArrayBuffer> {
  const kept: Uint8Array<ArrayBuffer>[] = [file.subarray(0, 2)]
  for (const part of parts(file)) {
    if (!isNote(part.marker) || isHarmless(part.marker, file, part.from)) {
      kept.push(file.subarray(part.from, part.to))
    }
  }
  const whole = new Uint8Array(kept.reduce((sum, part) => sum + part.length, 0))
  let at = 0
  for (const part of kept) {
    whole.set(part, at)
    at += part.length
  }
  return whole
}

/** The marked parts of a file, from behind its start to its end; a scan reaches to the marker after its data. */
function* parts(file: Uint8Array): Generator<{ marker: number; from: number; to: number }> {
  if (file[0] !== 0xff || file[1] !== START) throw new Error('not a JPEG file')
  let at = 2
  for (;;) {
    while (file[at] === 0xff && file[at + 1] === 0xff) at++ // filling
    const marker = file[at + 1]
    if (file[at] !== 0xff || marker === undefined) throw new Error('a broken JPEG file')
    if (marker === END) {
      yield { marker, from: at, to: at + 2 }
      return
    }
    let to = at + 2 + (((file[at + 2] ?? 0) << 8) | (file[at + 3] ?? 0))
    if (marker === SCAN) to = endOfScan(file, to)
    if (to > file.length || to < at + 4) throw new Error('a broken JPEG file')
    yield { marker, from: at, to }
    at = to
  }
}

function endOfScan(file: Uint8Array, from: number): number {
  for (let at = from; at + 1 < file.length; at++) {
    if (file[at] !== 0xff) continue
    const next = file[at + 1]!
    const inside = next === 0 || next === 0xff || (next >= 0xd0 && next <= 0xd7) // stuffed, filling, restart
    if (!inside) return at
  }
  return file.length
}

function isNote(marker: number): boolean {
  return (marker >= 0xe0 && marker <= 0xef) || marker === COMMENT
}

/** How to show it and no more: JFIF, a colour profile, the transform of colours. The server allows the same. */
function isHarmless(marker: number, file: Uint8Array, at: number): boolean {
  const says = (text: string) => [...text].every((letter, i) => file[at + 4 + i] === letter.charCodeAt(0))
  if (marker === 0xe0) return says('JFIF\0')
  if (marker === 0xe2) return says('ICC_PROFILE\0')
  return marker === 0xee && says('Adobe')
}

/** When the camera says that it took the picture, by its own clock and without a zone; null where it does not say. */
export function takenAt(
  file: Uint8Array,
): { year: number; month: number; day: number; h: number; m: number; s: number } | null {
  try {
    for (const { marker, from, to } of parts(file)) {
      if (marker === SCAN) return null
      if (marker === 0xe1 && ascii(file, from + 4, 6) === 'Exif\0\0')
        return exifTime(file.subarray(from + 10, to))
    }
  } catch {
    // Broken, or cut off on purpose: only its beginning is read.
  }
  return null
}

const EXIF_IFD = 0x8769
const DATE_TIME_ORIGINAL = 0x9003

/** DateTimeOriginal of an EXIF block (CIPA DC-008, 4.6): "2026:05:28 19:05:00". */
function exifTime(exif: Uint8Array) {
  const view = new DataView(exif.buffer, exif.byteOffset, exif.byteLength)
  const little = ascii(exif, 0, 2) === 'II'
  const find = (ifd: number, tag: number): number | null => {
    const many = view.getUint16(ifd, little)
    for (let i = 0; i < many; i++) {
      const entry = ifd + 2 + 12 * i
      if (view.getUint16(entry, little) === tag) return view.getUint32(entry + 8, little)
    }
    return null
  }
  const ifd = find(view.getUint32(4, little), EXIF_IFD)
  const at = ifd === null ? null : find(ifd, DATE_TIME_ORIGINAL)
  const found = at === null ? null : /^(\d{4}):(\d\d):(\d\d) (\d\d):(\d\d):(\d\d)/.exec(ascii(exif, at, 19))
  if (!found) return null
  const [year, month, day, h, m, s] = found.slice(1).map(Number) as [
    number,
    number,
    number,
    number,
    number,
    number,
  ]
  return { year, month, day, h, m, s }
}

function ascii(bytes: Uint8Array, from: number, length: number): string {
  return String.fromCharCode(...bytes.subarray(from, from + length))
}
