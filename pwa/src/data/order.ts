import type { Bin } from '../types'

/** Compares texts as people order them: 2 before 10, a beside A. A collator is made once, it is slow to make. */
export const byText = new Intl.Collator('en', { numeric: true, sensitivity: 'base' })

/** Walking order: rack by name, then shelf from the top, then from the left. */
export function inWalkingOrder(a: Bin, b: Bin): number {
  return (
    byText.compare(a.rack, b.rack) ||
    a.shelf - b.shelf ||
    a.position - b.position ||
    byText.compare(a.name, b.name) ||
    a.id.localeCompare(b.id)
  )
}
