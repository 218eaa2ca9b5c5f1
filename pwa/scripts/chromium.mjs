/** Debian's Chromium, and the flags under which it runs in tests and keeps to itself. */
export const CHROMIUM = process.env.CHROMIUM ?? '/usr/bin/chromium'

export const FLAGS = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
]
