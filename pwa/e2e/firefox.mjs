/** Debian's Firefox, driven through its own remote protocol (Marionette), which needs no other program. */
import { spawn } from 'node:child_process'
import { once } from 'node:events'
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { connect } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { until } from './runner.mjs'

export const FIREFOX = process.env.FIREFOX ?? '/usr/bin/firefox-esr'

/** It keeps to itself, and asks nobody whether alerts are allowed. */
const QUIET = {
  'marionette.port': 0,
  'remote.prefs.recommended': false, // these turn push off
  'permissions.default.desktop-notification': 1,
  'dom.webnotifications.actions.enabled': true,
  'dom.push.testing.allowInsecureServerURL': true,
  'alerts.useSystemBackend': false,
  'app.update.disabledForTesting': true,
  'app.normandy.enabled': false,
  'browser.shell.checkDefaultBrowser': false,
  'browser.startup.page': 0,
  'browser.region.network.url': '',
  'browser.safebrowsing.provider.mozilla.updateURL': '',
  'datareporting.policy.dataSubmissionEnabled': false,
  'extensions.update.enabled': false,
  'media.gmp-manager.updateEnabled': false,
  'network.captive-portal-service.enabled': false,
  'network.connectivity-service.enabled': false,
  'services.settings.server': 'data:,#remote-settings-dummy/v1',
  'toolkit.telemetry.server': '',
}

export class Firefox {
  profile = mkdtempSync(join(tmpdir(), 'underlog-firefox-'))
  #calls = new Map()
  #last = 0

  static async open(preferences = {}) {
    const firefox = new Firefox()
    try {
      await firefox.#start({ ...QUIET, ...preferences })
    } catch (error) {
      await firefox.close()
      throw error
    }
    return firefox
  }

  async #start(preferences) {
    const lines = Object.entries(preferences).map(
      ([name, value]) => `user_pref(${JSON.stringify(name)}, ${JSON.stringify(value)});`,
    )
    writeFileSync(join(this.profile, 'user.js'), lines.join('\n'))
    this.process = spawn(
      FIREFOX,
      [
        '--headless',
        '--no-remote',
        '--marionette',
        '--remote-allow-system-access',
        '--profile',
        this.profile,
      ],
      { stdio: 'ignore', env: { ...process.env, MOZ_DISABLE_AUTO_SAFE_MODE: '1' } },
    )
    const file = join(this.profile, 'MarionetteActivePort')
    const port = await until(
      'Firefox has started',
      () => existsSync(file) && Number(readFileSync(file)),
      60_000,
    )
    this.socket = connect(port, '127.0.0.1')
    await once(this.socket, 'connect')
    this.#listen()
    await this.#call('WebDriver:NewSession', { capabilities: {} })
  }

  /** Answers are `length:[1, number, error, value]`. */
  #listen() {
    let rest = Buffer.alloc(0)
    this.socket.on('data', (data) => {
      rest = Buffer.concat([rest, data])
      for (;;) {
        const colon = rest.indexOf(':')
        const end = colon + 1 + Number(rest.subarray(0, colon))
        if (colon < 0 || rest.length < end) return
        const message = JSON.parse(rest.subarray(colon + 1, end))
        rest = rest.subarray(end)
        if (!Array.isArray(message)) continue // its greeting
        const [, number, error, value] = message
        const { resolve, reject } = this.#calls.get(number)
        if (error) reject(new Error(`${error.error}: ${error.message}`))
        else resolve(value)
      }
    })
  }

  #call(name, parameters = {}) {
    const number = ++this.#last
    const text = JSON.stringify([0, number, name, parameters])
    return new Promise((resolve, reject) => {
      this.#calls.set(number, { resolve, reject })
      this.socket.write(`${Buffer.byteLength(text)}:${text}`)
    })
  }

  async goto(url) {
    await this.#call('Marionette:SetContext', { value: 'content' })
    await this.#call('WebDriver:Navigate', { url })
  }

  /** Runs a function in the page and answers what it returns, or what its promise brings. */
  page(work, ...args) {
    return this.#run('content', work, args)
  }

  /** Runs a function in the browser itself. */
  browser(work, ...args) {
    return this.#run('chrome', work, args)
  }

  async #run(context, work, args) {
    await this.#call('Marionette:SetContext', { value: context })
    const script = `const done = [...arguments].at(-1)
      Promise.resolve().then(() => (${work})(...[...arguments].slice(0, -1)))
        .then((value) => done({ value }), (error) => done({ error: String(error) }))`
    const options = { script, args, sandbox: null, newSandbox: false }
    const { value: answer } = await this.#call('WebDriver:ExecuteAsyncScript', options)
    if (answer?.error) throw new Error(answer.error)
    return answer?.value
  }

  /** Clicks the button or link with a text, as a finger does: the page takes it for the person's own. */
  async click(text) {
    await this.#call('Marionette:SetContext', { value: 'content' })
    const path = `//*[self::button or self::a][normalize-space()=${JSON.stringify(text)}]`
    const found = await until(`there is a button ${text}`, async () => {
      const query = { using: 'xpath', value: path }
      return this.#call('WebDriver:FindElement', query).catch(() => null)
    })
    const [id] = Object.values(found.value ?? found)
    await this.#call('WebDriver:ElementClick', { id })
  }

  /** Has notifications recorded instead of drawn, so that a test can press what a person would. */
  recordAlerts() {
    return this.browser(() => {
      const shown = (window.shownAlerts = new Map())
      const service = {
        QueryInterface: ChromeUtils.generateQI(['nsIAlertsService', 'nsIAlertsDoNotDisturb']),
        showAlert(alert, listener) {
          shown.set(alert.name, { alert, listener })
          listener?.observe(null, 'alertshow', alert.cookie)
        },
        closeAlert(name) {
          const one = shown.get(name)
          shown.delete(name)
          one?.listener.observe(null, 'alertfinished', one.alert.cookie)
        },
        getHistory: async () => [],
        teardown() {},
        pbmTeardown() {},
      }
      const factory = {
        QueryInterface: ChromeUtils.generateQI(['nsIFactory']),
        createInstance: (wanted) => service.QueryInterface(wanted),
      }
      const id = Components.ID('{8d7a5f0e-52a4-4e0c-9c0f-6f2c2a7b1e11}')
      const registrar = Components.manager.QueryInterface(Ci.nsIComponentRegistrar)
      registrar.registerFactory(id, 'recorded alerts', '@mozilla.org/alerts-service;1', factory)
    })
  }

  alerts() {
    return this.browser(() =>
      [...window.shownAlerts.values()].map(({ alert }) => ({
        title: alert.title,
        text: alert.text,
        actions: [...(alert.actions ?? [])].map((one) => one.title),
      })),
    )
  }

  /** Presses a button of an alert: the browser passes it on as the person's own click. */
  pressAlert(alertTitle, button) {
    return this.browser(
      (alertTitle, button) => {
        const shown = [...window.shownAlerts.values()]
        const { alert, listener } = shown.find((one) => one.alert.title === alertTitle)
        const action = [...alert.actions].find((one) => one.title === button)
        listener.observe(action, 'alertclickcallback', alert.cookie)
      },
      alertTitle,
      button,
    )
  }

  /** Trusts an authority, given as the base64 of its certificate, to vouch for servers. */
  trust(certificate) {
    return this.browser((text) => {
      const database = Cc['@mozilla.org/security/x509certdb;1'].getService(Ci.nsIX509CertDB)
      database.addCertFromBase64(text, 'C,,')
    }, certificate)
  }

  async close() {
    this.socket?.destroy()
    if (this.process?.exitCode === null) {
      const gone = once(this.process, 'exit')
      this.process.kill('SIGKILL')
      await gone
    }
    rmSync(this.profile, { recursive: true, force: true, maxRetries: 5 })
  }
}
