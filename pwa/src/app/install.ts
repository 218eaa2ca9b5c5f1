import { writable, type Readable } from 'svelte/store'

/** What Chromium hands over so that a page can offer to install it. */
interface Installer extends Event {
  prompt(): Promise<unknown>
}

const offered = writable<Installer | null>(null)

/** The browser's own installing, where it has one to give to a button. */
export const installer: Readable<Installer | null> = offered

window.addEventListener('beforeinstallprompt', (event) => {
  event.preventDefault() // the app asks when it makes sense, not when the page opens
  offered.set(event as Installer)
})
window.addEventListener('appinstalled', () => offered.set(null))
