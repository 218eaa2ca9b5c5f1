/**
 * From a file that somebody chose to a photo that is kept: turned as it was
 * taken, small enough, and without anything that says where it was taken.
 */
import { photos as words } from '../words/en.photos'
import { bare, takenAt } from './jpeg'
import { limits } from './limits'

export interface Picture {
  name: string // the SHA-256 of full, by which everybody knows it
  full: Uint8Array<ArrayBuffer>
  small: Uint8Array<ArrayBuffer>
  width: number // px, of full
  height: number
  takenAt: number | null // Unix milliseconds, as camera or file say
}

/** Why a file becomes no photo, in a sentence. */
export class Unfit extends Error {}

/** A picture that is open: it can be drawn at any size. */
export interface Opened {
  width: number
  height: number
  /** A JPEG of that size; quality is from 0 to 1. */
  draw(width: number, height: number, quality: number): Promise<Blob>
  close(): void
}

const QUALITIES = [0.82, 0.72, 0.6] // of JPEG; judgement
const SMALL_QUALITY = 0.75
const SMALLER = 0.8 // of the long edge, where no quality is enough
const SHORTEST_EDGE_PX = 200 // a picture that is too large even so is none
const HEAD_BYTES = 256 * 1024 // where EXIF stands, if it does
const EARLIEST = Date.UTC(1990, 0, 1) // husbandry.Earliest

/** Makes the photo of a file. Throws Unfit with a sentence. */
export async function makePicture(
  file: Blob & { lastModified?: number },
  now: number,
  open: (file: Blob) => Promise<Opened> = openInBrowser,
): Promise<Picture> {
  const bounds = limits.photos
  if (!globalThis.crypto?.subtle) throw new Unfit(words.insecure)
  if (file.size === 0) throw new Unfit(words.empty)
  if (file.size > bounds.most_original_bytes)
    throw new Unfit(words.tooLarge(file.size, bounds.most_original_bytes))
  const head = new Uint8Array(await file.slice(0, HEAD_BYTES).arrayBuffer())
  let opened: Opened
  try {
    opened = await open(file)
  } catch {
    throw new Unfit(isHeic(head) ? words.heic : words.notAPicture)
  }
  try {
    if (opened.width < 1 || opened.height < 1) throw new Unfit(words.tooSmall)
    const full = await fit(opened, bounds.long_edge_px, bounds.most_bytes)
    const small = await draw(opened, bounds.small_edge_px, SMALL_QUALITY)
    return {
      name: await nameOf(full.bytes),
      full: full.bytes,
      small: small.bytes,
      width: full.width,
      height: full.height,
      takenAt: when(head, file.lastModified, now),
    }
  } finally {
    opened.close()
  }
}

/** The name of a photo: the SHA-256 of its bytes, 64 lower-case hex digits. */
export async function nameOf(bytes: Uint8Array<ArrayBuffer>): Promise<string> {
  const hash = new Uint8Array(await crypto.subtle.digest('SHA-256', bytes))
  return Array.from(hash, (byte) => byte.toString(16).padStart(2, '0')).join('')
}

async function fit(opened: Opened, longEdge: number, mostBytes: number) {
  for (let edge = longEdge; edge >= SHORTEST_EDGE_PX; edge = Math.floor(edge * SMALLER)) {
    for (const quality of QUALITIES) {
      const drawn = await draw(opened, edge, quality)
      if (drawn.bytes.length <= mostBytes) return drawn
    }
  }
  throw new Unfit(words.doesNotFit)
}

async function draw(opened: Opened, longEdge: number, quality: number) {
  const { width, height } = measures(opened.width, opened.height, longEdge)
  const drawn = await opened.draw(width, height, quality)
  return { width, height, bytes: bare(new Uint8Array(await drawn.arrayBuffer())) }
}

/** The measures within a long edge; a picture is never made larger. */
export function measures(width: number, height: number, longEdge: number): { width: number; height: number } {
  const scale = Math.min(1, longEdge / Math.max(width, height))
  return { width: Math.max(1, Math.round(width * scale)), height: Math.max(1, Math.round(height * scale)) }
}

/** The camera's own word, else the file's date, unless neither can be. */
function when(head: Uint8Array, lastModified: number | undefined, now: number): number | null {
  const taken = takenAt(head)
  const camera =
    taken && new Date(taken.year, taken.month - 1, taken.day, taken.h, taken.m, taken.s).getTime()
  const possible = [camera, lastModified].find((at) => at && at >= EARLIEST && at <= now)
  return possible ?? null
}

function isHeic(head: Uint8Array): boolean {
  const text = String.fromCharCode(...head.subarray(4, 12))
  return /^ftyp(hei|hev|mif1|msf1)/.test(text)
}

async function openInBrowser(file: Blob): Promise<Opened> {
  const bitmap = await createImageBitmap(file, { imageOrientation: 'from-image' })
  const { width, height } = bitmap
  return {
    width,
    height,
    draw(width, height, quality) {
      const canvas = makeCanvas(width, height)
      const pen = canvas.getContext('2d') as
        CanvasRenderingContext2D | OffscreenCanvasRenderingContext2D | null
      if (!pen) throw new Unfit(words.noRoom)
      pen.fillStyle = '#fff' // JPEG has nothing to see through
      pen.fillRect(0, 0, width, height)
      pen.imageSmoothingQuality = 'high'
      pen.drawImage(bitmap, 0, 0, width, height)
      return canvas instanceof HTMLCanvasElement
        ? new Promise((resolve, reject) =>
            canvas.toBlob(
              (blob) => (blob ? resolve(blob) : reject(new Unfit(words.noRoom))),
              'image/jpeg',
              quality,
            ),
          )
        : canvas.convertToBlob({ type: 'image/jpeg', quality })
    },
    close: () => bitmap.close(),
  }
}

/** Safari before 16.4 has no canvas of its own without a page. */
function makeCanvas(width: number, height: number): OffscreenCanvas | HTMLCanvasElement {
  if (typeof OffscreenCanvas === 'function') return new OffscreenCanvas(width, height)
  return Object.assign(document.createElement('canvas'), { width, height })
}
