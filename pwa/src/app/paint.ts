const LATEST_MS = 80 // a page in the background is never painted

/** Runs work when the next picture is on the screen: the touch is answered first, what it brings comes after it. */
export function afterPaint(work: () => void): void {
  let done = false
  const once = () => {
    if (done) return
    done = true
    clearTimeout(timer)
    work()
  }
  const timer = setTimeout(once, LATEST_MS)
  requestAnimationFrame(() => setTimeout(once))
}
