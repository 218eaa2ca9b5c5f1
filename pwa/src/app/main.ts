import { mount } from 'svelte'
import '../ui/tokens.css'
import '../ui/fonts.css'
import '../ui/base.css'
import '../ui/forms.css'
import App from './App.svelte'
import './install' // from the start: the browser offers it once
import { followLight } from './device'
import { readPass } from './route'
import { afterPaint } from './paint'
import { db } from '../data/db'
import { bins } from '../data/stores'
import { showKept } from '../engine/engine'

followLight()

const target = document.getElementById('app')!

// Whoever comes with somebody's pass sees that and nothing of the app: it is another start.
const pass = readPass(location.hash)
window.addEventListener('hashchange', () => readPass(location.hash) !== pass && location.reload())
if (pass === null) startApp()
else void import('../screens/pass/open').then(({ openPass }) => openPass(target, pass))

function startApp(): void {
  // Both databases open while the page is made.
  void db.open().catch(() => undefined) // whoever reads it says what is wrong
  const kept = showKept()
  mount(App, { target })

  // What runs beside the screens never holds up the first of them: the engine,
  // the exchange and the rest begin once what was last known is on the screen and
  // can be touched.
  const LATEST_MS = 2000 // a database that does not answer must not keep them from it
  const BREATH_MS = 300 // the first picture of a slow phone takes that long from made to shown
  const read = new Promise<void>((resolve) => bins.subscribe((found) => found && resolve()))
  const late = new Promise((resolve) => setTimeout(resolve, LATEST_MS))
  void Promise.race([Promise.all([kept, read]), late]).then(() =>
    afterPaint(() =>
      setTimeout(async () => {
        ;(await import('../sync/start')).start()
        ;(await import('./badge')).followBadge()
      }, BREATH_MS),
    ),
  )
}
