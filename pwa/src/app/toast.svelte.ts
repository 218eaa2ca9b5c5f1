/** One line at the bottom of the screen that says what just happened, and can be taken back. */
export interface Toast {
  text: string
  undo?: () => Promise<void> | void
}

const LASTS_MS = 8000

class Toasts {
  current = $state<Toast | null>(null)
  /** Sheets that keep the focus, the top one last: only inside of that can a toast be seen and touched. */
  sheets = $state<string[]>([])
  #timer: ReturnType<typeof setTimeout> | undefined

  show(toast: Toast): void {
    clearTimeout(this.#timer)
    this.current = toast
    this.#timer = setTimeout(() => this.hide(), LASTS_MS)
  }

  /** While a finger or the focus is on it, it stays. */
  hold(): void {
    clearTimeout(this.#timer)
  }

  release(): void {
    clearTimeout(this.#timer)
    this.#timer = setTimeout(() => this.hide(), LASTS_MS)
  }

  hide(): void {
    clearTimeout(this.#timer)
    this.current = null
  }
}

export const toasts = new Toasts()
