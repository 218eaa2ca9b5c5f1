/**
 * Keeps the focus on what was moved: its element gives way to another one
 * elsewhere on the page, now or when the forecast has come round. Where
 * somebody has gone on to something else in between, they stay there.
 */
import { tick } from 'svelte'

export class Follow {
  #id = ''

  /** From now on this one is followed. */
  now(id: string): void {
    this.#id = id
  }

  /** To be called whenever the page may have been made anew. */
  async along(find: (id: string) => HTMLElement | null | undefined): Promise<void> {
    const id = this.#id
    if (id === '') return
    await tick()
    const at = document.activeElement
    const found = find(id)
    if (at && at !== document.body && at.isConnected) {
      if (at !== found) this.#id = ''
    } else found?.focus()
  }
}
