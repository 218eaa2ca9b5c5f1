import type { Food, Kind } from '../types'
import generated from '../generated/seeds.json'

/** The kinds and foods that ship with the tool. */
export const { kinds, foods } = generated as unknown as { kinds: Kind[]; foods: Food[] }
