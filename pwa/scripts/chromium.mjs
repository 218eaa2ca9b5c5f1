/** Debian's Chromium, and the flags under which it runs in tests and keeps to itself. */
export const CHROMIUM = process.env.CHROMIUM ?? '/usr/bin/chromium'

/**
 * Of two lists of features that are off the browser takes the later, so that this one has what playwright-core's own
 * has. The last three are pages behind the address bar, which no test shows: they took as long to load as the rest of
 * the browser, beside whatever was tested or measured.
 */
const OFF = [
  'AimEnabled',
  'AvoidCorsURLLoaderRestartOnRedirect',
  'AvoidUnnecessaryBeforeUnloadCheckSync',
  'DestroyProfileOnBrowserClose',
  'HttpsFirstBalancedModeAutoEnable',
  'HttpsUpgrades',
  'LensOverlay',
  'MediaRouter',
  'NetworkTimeServiceQuerying',
  'OptimizationHints',
  'PaintHolding',
  'PreconnectToSearch',
  'ThirdPartyStoragePartitioning',
  'WebUIOmniboxAimPopup',
  'WebUIOmniboxFullPopup',
  'WebUIOmniboxPopup',
]

export const FLAGS = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
  `--disable-features=${OFF.join()}`,
]
