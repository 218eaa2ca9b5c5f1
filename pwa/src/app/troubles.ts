/** Which bins may be going wrong. Not part of the first screen. */
import { readable, type Readable } from 'svelte/store'
import { ask, survey } from '../engine/engine'
import type { Troubled } from '../types'

const SETTLE_MS = 400 // no tap waits for this

/** The bins that may be going wrong, anew with every survey. */
export const troubles: Readable<Troubled[] | undefined> = readable<Troubled[] | undefined>(
  undefined,
  (set) => {
    let timer: ReturnType<typeof setTimeout> | undefined
    const look = () => void ask((engine) => engine.trouble('')).then((found) => found && set(found))
    const leave = survey.subscribe(() => {
      clearTimeout(timer)
      timer = setTimeout(look, SETTLE_MS)
    })
    return () => {
      clearTimeout(timer)
      leave()
    }
  },
)
