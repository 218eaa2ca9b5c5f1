/** JPEG files for tests: the parts in order, the picture in them an invented one. */
export function segment(marker: number, content: string | number[]): number[] {
  const bytes = typeof content === 'string' ? [...content].map((letter) => letter.charCodeAt(0)) : content
  const length = bytes.length + 2
  return [0xff, marker, length >> 8, length & 0xff, ...bytes]
}

const TABLES = segment(0xdb, [0, ...Array(64).fill(1)])
/** Coded data with a stuffed byte and a restart in it, as scans have them. */
const SCAN = [...segment(0xda, [1, 1, 0, 0, 63, 0]), 0x12, 0xff, 0x00, 0x34, 0xff, 0xd0, 0x56]

export function mustJpeg(...notes: number[][]): Uint8Array<ArrayBuffer> {
  return new Uint8Array([0xff, 0xd8, ...notes.flat(), ...TABLES, ...SCAN, 0xff, 0xd9])
}

/** An EXIF block with a time and a place, big-endian or little-endian. */
export function exif(time: string, little = false): number[] {
  const two = (n: number) => (little ? [n & 255, n >> 8] : [n >> 8, n & 255])
  const four = (n: number) => (little ? [...two(n), 0, 0] : [0, 0, ...two(n)])
  const text = [...`${time}\0`].map((letter) => letter.charCodeAt(0))
  const body = [
    ...(little ? [0x49, 0x49] : [0x4d, 0x4d]),
    ...two(42),
    ...four(8),
    ...[...two(2), ...two(0x8825), ...two(4), ...four(1), ...four(90)], // where GPS would be
    ...[...two(0x8769), ...two(4), ...four(1), ...four(40), ...four(0)],
    ...Array(40 - 8 - 2 - 24 - 4).fill(0),
    ...[...two(1), ...two(0x9003), ...two(2), ...four(20), ...four(58), ...four(0)],
    ...text,
    ...[...'GPS 52.52 N 13.40 E'].map((letter) => letter.charCodeAt(0)),
  ]
  return segment(0xe1, [0x45, 0x78, 0x69, 0x66, 0, 0, ...body])
}
