import { mount } from 'svelte'
import { isPhoneOfApple } from '../../app/platform'
import { PassBook, SitterDatabase } from '../../data/sitter'
import { register } from '../../sync/update'
import { app } from '../../words/en'
import { pass as words } from '../../words/en.pass'
import Opened from './Opened.svelte'

/**
 * Opens a pass in place of the app: no session, no engine, no exchange of the
 * app's records. The service worker is the same, so that the page starts
 * without signal.
 */
export async function openPass(target: HTMLElement, secret: string): Promise<void> {
  document.title = `${words.title} · ${app.name}`
  // On an iPhone a sign on the home screen opens this very page only where no manifest names another.
  if (isPhoneOfApple) document.querySelector('link[rel=manifest]')?.remove()
  const book = new PassBook(new SitterDatabase(), secret)
  await book.open().catch(() => undefined) // the page says what is wrong
  mount(Opened, { target, props: { book } })
  void register()
}
