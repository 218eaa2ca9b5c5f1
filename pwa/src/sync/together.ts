/**
 * Makes of a try one that never runs twice at a time: a call during a try makes
 * one more try follow. It resolves when its try is over, however it ended.
 */
export function oneAtATime(attempt: () => Promise<void>): () => Promise<void> {
  let under: Promise<void> | null = null
  let again = false
  return function go() {
    if (under) {
      again = true
      return under
    }
    under = attempt().finally(() => {
      under = null
      if (again) {
        again = false
        void go()
      }
    })
    return under
  }
}
