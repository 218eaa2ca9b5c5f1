import { untrack } from 'svelte'
import { afterPaint } from './paint'

/**
 * How much of a long list is there by now: so many at once, then as many more
 * after every picture, until all are. Touches in between are answered.
 */
export class Gradually {
  upTo = $state(0)

  constructor(all: () => number, step: number, first = step) {
    this.upTo = first
    $effect(() => {
      const wanted = all()
      if (this.upTo >= wanted) return
      let stopped = false
      afterPaint(() => {
        if (!stopped) untrack(() => (this.upTo += step))
      })
      return () => (stopped = true)
    })
  }
}
