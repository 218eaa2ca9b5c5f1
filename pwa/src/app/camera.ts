/** The camera as a reader of codes. */
interface Detector {
  detect(image: ImageBitmapSource): Promise<{ rawValue: string }[]>
}

interface NativeDetector {
  new (options: { formats: string[] }): Detector
  getSupportedFormats(): Promise<string[]>
}

const BETWEEN_MS = 120 // eight looks a second are quick enough and leave the processor alone

/** The browser's own reader of QR codes where it has one, else one that is fetched with this page. */
export async function detector(): Promise<Detector> {
  const Native = (globalThis as { BarcodeDetector?: NativeDetector }).BarcodeDetector
  const formats = (await Native?.getSupportedFormats().catch(() => [])) ?? []
  if (Native && formats.includes('qr_code')) return new Native({ formats: ['qr_code'] })
  const { BarcodeDetector } = await import('qr/decode.js')
  return new BarcodeDetector({ formats: ['qr_code'] })
}

/** Why there is no picture. */
export type NoCamera = 'insecure' | 'refused' | 'none' | 'busy'

export function whyNot(error: unknown): NoCamera {
  const name = error instanceof Error ? error.name : ''
  if (name === 'NotAllowedError' || name === 'SecurityError') return 'refused'
  return name === 'NotReadableError' || name === 'AbortError' ? 'busy' : 'none'
}

/** Opens the camera at the back, into video. */
export async function openCamera(video: HTMLVideoElement): Promise<MediaStream> {
  const stream = await navigator.mediaDevices.getUserMedia({
    audio: false,
    video: { facingMode: 'environment', width: { ideal: 1280 }, height: { ideal: 720 } },
  })
  video.srcObject = stream
  await video.play().catch(() => undefined) // it plays once the page is looked at
  return stream
}

/** Reads what the video shows until stopped; found is told every code, also the same one again. */
export function readFrom(
  video: HTMLVideoElement,
  reader: Detector,
  found: (text: string) => void,
): () => void {
  let stopped = false
  const look = async () => {
    if (stopped) return
    if (video.readyState >= HTMLMediaElement.HAVE_CURRENT_DATA && !document.hidden) {
      const codes = await reader.detect(video).catch(() => [])
      for (const { rawValue } of codes) if (!stopped && rawValue) found(rawValue)
    }
    if (!stopped) setTimeout(() => void look(), BETWEEN_MS)
  }
  void look()
  return () => (stopped = true)
}

interface Lamp {
  torch?: boolean
}

/** Whether the camera's own lamp can be lit. */
export function hasLamp(stream: MediaStream): boolean {
  const able = stream.getVideoTracks()[0]?.getCapabilities?.() as Lamp | undefined
  return able?.torch === true
}

export async function lightLamp(stream: MediaStream, on: boolean): Promise<void> {
  const constraint = { advanced: [{ torch: on } as MediaTrackConstraintSet] }
  await stream.getVideoTracks()[0]?.applyConstraints(constraint)
}
