/** What a page may know of the device that it is on, where the way to install differs. */
const agent = navigator.userAgent

/** iPads call themselves Macs, but no Mac has a touch screen. */
export const isPhoneOfApple =
  /iPhone|iPad|iPod/.test(agent) || (/Macintosh/.test(agent) && navigator.maxTouchPoints > 1)
export const isPhone = isPhoneOfApple || /Android/.test(agent)
/** Opened from a sign on the home screen or a window of its own. */
export const isInstalled = matchMedia('(display-mode: standalone)').matches
