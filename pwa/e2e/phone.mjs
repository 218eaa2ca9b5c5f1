/** A phone: Debian's Chromium with a profile that outlives it. */
import { mkdtempSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { chromium } from 'playwright-core'
import { CHROMIUM, FLAGS } from '../scripts/chromium.mjs'
import { until } from './runner.mjs'

export class Phone {
  profile = mkdtempSync(join(tmpdir(), 'underlog-phone-'))
  said = [] // the consoles' lines

  /** flags: more of Chromium's, for a phone with a camera or another screen. */
  constructor(server, flags = []) {
    this.server = server
    this.flags = flags
  }

  static async open(server) {
    const phone = new Phone(server)
    await phone.open()
    return phone
  }

  async open(path = '/') {
    this.context = await chromium.launchPersistentContext(this.profile, {
      executablePath: CHROMIUM,
      args: [...FLAGS, ...this.flags],
      viewport: { width: 390, height: 844 },
      locale: 'en-GB',
      timezoneId: 'UTC',
      serviceWorkers: 'allow',
    })
    await this.context.grantPermissions(['notifications'], { origin: this.server.url })
    this.context.on('console', (line) => this.said.push(`${line.type()}: ${line.text()}`))
    this.page = this.context.pages()[0] ?? (await this.context.newPage())
    this.page.on('pageerror', (error) => this.said.push(`error: ${error.stack}`))
    this.page.setDefaultTimeout(30_000)
    await this.page.goto(this.server.url + path)
  }

  async close() {
    await this.context?.close()
    this.context = undefined
  }

  /** Ends the browser as a flat battery does: nobody is told. */
  async crash() {
    const { context } = this
    const gone = new Promise((resolve) => context.on('close', resolve))
    const session = await context.newCDPSession(this.page)
    session.send('Browser.crash').catch(() => undefined)
    await gone
    this.context = undefined
  }

  async setUp({ room = 'Cellar', name = 'Ada', password = 'woodlouse tea' } = {}) {
    const { page } = this
    await page.getByRole('button', { name: 'Set up my room' }).click()
    await page.getByLabel('What is the room called?').fill(room)
    await page.getByLabel('Your name').fill(name)
    await page.getByLabel('A password', { exact: true }).fill(password)
    await page.getByRole('button', { name: 'Begin' }).click()
    await page.getByRole('link', { name: 'Add a bin' }).first().waitFor()
  }

  async signIn({ name = 'Ada', password = 'woodlouse tea' } = {}) {
    const { page } = this
    await page.getByLabel('Your name').fill(name)
    await page.getByLabel('Your password').fill(password)
    await page.getByRole('button', { name: 'Sign in' }).click()
    await page.getByRole('navigation').first().waitFor()
  }

  async addBin({ name, rack = 'West', shelf = 1, position = 1, kind = 'Porcellio scaber' }) {
    const { page } = this
    await page.goto(`${this.server.url}/#/bin/new`)
    await page.getByLabel('Name', { exact: true }).fill(name)
    await page.getByLabel('Kind', { exact: true }).selectOption({ label: kind })
    await page.getByLabel('Rack').fill(rack)
    await page.getByLabel('Shelf').fill(String(shelf))
    await page.getByLabel('Position').fill(String(position))
    await page.getByRole('button', { name: 'Save the bin' }).click()
    return until(`the bin ${name} is kept`, async () => {
      const sheets = await this.all('sheets')
      return sheets.find((sheet) => sheet.fields.name?.v === name)?.id
    })
  }

  /** The stop of a bin, with everything that can be asked there. */
  async atStop(bin, of) {
    const { page } = this
    await page.bringToFront() // the browser draws no tab behind another
    await page.goto(`${this.server.url}/#/stop/${bin}${of ? `?of=${of}` : ''}`)
    const sheet = page.getByRole('dialog')
    await sheet.getByRole('heading').first().waitFor()
    return sheet
  }

  /** Everything that can be asked at a stop, not only what the bin wants today. */
  async more(sheet) {
    await sheet.getByRole('button', { name: 'More…' }).click()
  }

  async feed(sheet, food) {
    const chip = sheet.getByRole('button', { name: food, exact: true })
    const others = sheet.getByRole('button', { name: 'Other foods…' })
    if ((await chip.count()) === 0) await others.click()
    // The few that are offered first change when the forecasts come, perhaps just now.
    await chip.click({ timeout: 5000 }).catch(async () => {
      await others.click()
      await chip.click()
    })
  }

  /** The rows of a table of the local database. */
  all(table) {
    return this.page.evaluate(
      (name) =>
        new Promise((resolve, reject) => {
          const open = indexedDB.open('underlog')
          open.onerror = () => reject(open.error)
          open.onsuccess = () => {
            const rows = open.result.transaction(name).objectStore(name).getAll()
            rows.onsuccess = () => {
              resolve(rows.result)
              open.result.close()
            }
          }
        }),
      table,
    )
  }

  async meta(key) {
    return (await this.all('meta')).find((row) => row.key === key)?.value
  }

  /** Records that wait; what was refused does not count. */
  async unsent() {
    return (await this.all('outgoing')).length
  }

  /** Waits until nothing is to be sent, twice: what was tapped just now is written a moment later. */
  async allSent() {
    const isSent = async () => (await this.unsent()) === 0
    const moment = () => new Promise((resolve) => setTimeout(resolve, 300))
    await until('everything is sent', async () => (await isSent()) && (await moment(), isSent()), 35_000)
  }

  async worker() {
    await until('the service worker is active', () =>
      this.page.evaluate(async () => (await navigator.serviceWorker.ready).active.state === 'activated'),
    )
    const ready = () => this.context.serviceWorkers().find((worker) => worker.url().endsWith('/sw.js'))
    return until('the service worker runs', ready)
  }

  /** The engine's files are kept for starts without a server. */
  engineKept() {
    return until('the engine is kept', () =>
      this.page.evaluate(async () => (await (await caches.open('underlog-engine')).keys()).length >= 2),
    )
  }

  /**
   * Hands a message to the service worker as the browser's push service would,
   * and answers what is shown then. DevTools now and then drops one on a busy
   * machine, as push services do: it is handed over again.
   */
  async push(data) {
    await Promise.all((await this.notifications()).map(() => this.clearNotifications()))
    for (let tries = 1; ; tries++) {
      await this.deliverPush(data)
      try {
        return await until(
          'the message is shown',
          async () => {
            const shown = await this.notifications()
            return shown.length > 0 && shown
          },
          15_000, // a second delivery that comes late would be told as settled
        )
      } catch (error) {
        if (tries === 3) throw error
      }
    }
  }

  async clearNotifications() {
    const worker = await this.worker()
    await worker.evaluate(async () => {
      for (const shown of await self.registration.getNotifications()) shown.close()
    })
  }

  async deliverPush(data) {
    await this.worker()
    const session = await this.context.newCDPSession(this.page)
    const registration = new Promise((resolve) =>
      session.on('ServiceWorker.workerRegistrationUpdated', ({ registrations }) => {
        const ours = registrations.find((one) => one.scopeURL.startsWith(this.server.url) && !one.isDeleted)
        if (ours) resolve(ours.registrationId)
      }),
    )
    await session.send('ServiceWorker.enable')
    const registrationId = await registration
    await session.send('ServiceWorker.deliverPushMessage', { origin: this.server.url, registrationId, data })
  }

  async notifications() {
    const worker = await this.worker()
    return worker.evaluate(async () =>
      (await self.registration.getNotifications()).map(({ title, body, tag, data, silent, actions }) => ({
        title,
        body,
        tag,
        data,
        silent,
        actions: actions.map(({ action, title }) => ({ action, title })),
      })),
    )
  }

  /** Presses a button of the first notification. An event that a script makes has no waitUntil of its own. */
  async press(action) {
    const worker = await this.worker()
    await worker.evaluate(async (action) => {
      const [notification] = await self.registration.getNotifications()
      const event = new NotificationEvent('notificationclick', { notification, action })
      const work = []
      Object.defineProperty(event, 'waitUntil', { value: (promise) => work.push(promise) })
      self.dispatchEvent(event)
      await Promise.all(work)
    }, action)
  }
}
