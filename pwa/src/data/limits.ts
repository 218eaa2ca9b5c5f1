import type { Limits } from '../types'
import generated from '../generated/limits.json'

/** The rules of every field and the defaults of every record, from the one place where they live. */
export const limits = generated as unknown as Limits
