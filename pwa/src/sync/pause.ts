const FIRST_PAUSE_MS = 1000
const LONGEST_PAUSE_MS = 8000 // with something to send: with a request that hangs until its time is up, 30 s are not passed
export const IDLE_PAUSE_MS = 60_000

/** Milliseconds to wait after so many failures in a row; chance is from 0 to 1. */
export function pauseAfter(failures: number, unsent: boolean, chance: number): number {
  const full = FIRST_PAUSE_MS * 2 ** Math.min(failures - 1, 20)
  return Math.min(full, unsent ? LONGEST_PAUSE_MS : IDLE_PAUSE_MS) * (0.5 + chance / 2)
}
