/** A page that sends what waits on this phone, by the app's own code, and does nothing else. */
export { go } from '../../../pwa/src/sync/courier'
