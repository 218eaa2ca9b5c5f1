/** A camera for tests: what Chromium's fake device shows, as uncompressed video. */
import { writeFileSync } from 'node:fs'

const WIDTH = 640
const HEIGHT = 480

export const cameraFlags = (file) => [
  '--use-fake-ui-for-media-stream',
  '--use-fake-device-for-media-stream',
  `--use-file-for-fake-video-capture=${file}`,
]

/** A camera that is there, and a person who will not let the app have it. */
export const refusedCamera = ['--use-fake-device-for-media-stream', '--deny-permission-prompts']

/**
 * A film (YUV4MPEG2, two frames, shown over and over) of a code held a little
 * askew under an uneven light. dark says for a module whether it is dark.
 */
export function film(file, size, dark) {
  const turn = (7 * Math.PI) / 180
  const scale = 300 / size
  const luma = Buffer.alloc(WIDTH * HEIGHT)
  for (let y = 0; y < HEIGHT; y++) {
    for (let x = 0; x < WIDTH; x++) {
      const dx = x - WIDTH / 2
      const dy = y - HEIGHT / 2
      const column = Math.floor((dx * Math.cos(turn) + dy * Math.sin(turn)) / scale + size / 2)
      const line = Math.floor((dy * Math.cos(turn) - dx * Math.sin(turn)) / scale + size / 2)
      const inside = column >= 0 && line >= 0 && column < size && line < size
      const light = 0.65 + (0.3 * x) / WIDTH
      luma[y * WIDTH + x] = Math.round(light * (inside ? (dark(column, line) ? 40 : 235) : 120))
    }
  }
  const chroma = Buffer.alloc((WIDTH * HEIGHT) / 2, 128)
  const frame = Buffer.concat([Buffer.from('FRAME\n'), luma, chroma])
  writeFileSync(
    file,
    Buffer.concat([Buffer.from(`YUV4MPEG2 W${WIDTH} H${HEIGHT} F10:1 Ip A1:1 C420jpeg\n`), frame, frame]),
  )
}
