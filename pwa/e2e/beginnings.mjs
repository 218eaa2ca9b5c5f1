/** Where tests begin that are about something later. Each is walked by hand once in a lane, and copied (runner.mjs). */
import { lookAround } from './screens.mjs'

/** The evening of today, in UTC as the tests' phones: what is due hangs on the hour. */
export const EVENING = `${new Date().toISOString().slice(0, 10)}T17:00:00Z`

/** A room with one bin. */
export const ONE_BIN = {
  name: 'one bin',
  make: async (phone) => {
    await phone.setUp()
    return { bin: await phone.addBin({ name: 'Pied pillbugs' }) }
  },
}

/** The same on an evening, and the bin elsewhere. */
export const ONE_BIN_IN_THE_EVENING = {
  name: 'one bin in the evening',
  at: EVENING,
  make: async (phone) => {
    await phone.setUp()
    return { bin: await phone.addBin({ name: 'Pied pillbugs', rack: 'West', shelf: 2, position: 3 }) }
  },
}

/** The example room, with its first forecasts. */
export const EXAMPLE = { name: 'example', make: lookAround }
