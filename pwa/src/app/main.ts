import { mount } from 'svelte'
import '../ui/tokens.css'
import '../ui/fonts.css'
import '../ui/base.css'
import '../ui/forms.css'
import App from './App.svelte'
import './install' // from the start: the browser offers it once
import { followLight } from './device'

followLight()

const target = document.getElementById('app')
if (target) mount(App, { target })

// What runs beside the screens never holds up the first paint.
requestAnimationFrame(() =>
  setTimeout(async () => {
    ;(await import('../sync/start')).start()
    ;(await import('./badge')).followBadge()
  }),
)
