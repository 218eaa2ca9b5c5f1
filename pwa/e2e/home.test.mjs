import assert from 'node:assert/strict'
import { execFileSync, spawn } from 'node:child_process'
import { once } from 'node:events'
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { Firefox } from './firefox.mjs'
import { test, until } from './runner.mjs'
import { results } from './server.mjs'

const NAME = 'shed.local'

/** The real command, serving the home network under a name of it. */
class HomeServer {
  data = mkdtempSync(join(tmpdir(), 'underlog-home-'))

  static async start() {
    const home = new HomeServer()
    const root = fileURLToPath(new URL('../../', import.meta.url))
    execFileSync('go', ['build', '-o', `${results}underlog`, './backend'], { cwd: root })
    const at = ['--http', '127.0.0.1:0', '--https', '127.0.0.1:0', '--guide', '127.0.0.1:0']
    const args = ['serve', '--home', '--name', NAME, '--data', home.data, ...at]
    home.process = spawn(`${results}underlog`, args, { stdio: 'ignore' })
    const file = join(home.data, 'serving.json')
    Object.assign(home, await until('it serves', () => existsSync(file) && JSON.parse(readFileSync(file))))
    return home
  }

  async close() {
    const gone = once(this.process, 'exit')
    this.process.kill('SIGTERM')
    await gone
    rmSync(this.data, { recursive: true, force: true, maxRetries: 5 })
  }
}

test('Firefox warns of a home that it does not trust, and starts the app without signal once it does', async (house) => {
  const home = await HomeServer.start()
  house.others.push(home)
  const firefox = await Firefox.open({ 'network.dns.localDomains': NAME })
  house.others.push(firefox)

  await firefox.goto(home.guide)
  const page = await firefox.page(() => ({
    text: document.body.innerText,
    secure: isSecureContext,
    worker: 'serviceWorker' in navigator,
    lead: [...document.querySelectorAll('a')].find((one) => one.innerText === 'Open Underlog').href,
  }))
  assert.match(page.text, /What this means/)
  assert.deepEqual([page.secure, page.worker, page.lead], [false, false, `${home.phones}/`])
  await assert.rejects(firefox.goto(home.phones), /insecure certificate/)

  const plain = home.guide.replace(NAME, '127.0.0.1')
  const pem = await (await fetch(`${plain}/underlog-home.pem`)).text()
  await firefox.trust(pem.replace(/-----[A-Z ]+-----|\s/g, ''))
  await firefox.goto(home.phones)
  await until('the app has set up its worker', () =>
    firefox.page(
      async () => (await navigator.serviceWorker.getRegistration())?.active?.state === 'activated',
    ),
  )
  assert.equal(await firefox.page(() => isSecureContext && 'PushManager' in window), true)

  // Cutting its network leaves a name of its own machine reachable: the server stops instead.
  home.process.kill('SIGTERM')
  await once(home.process, 'exit')
  home.close = async () => rmSync(home.data, { recursive: true, force: true, maxRetries: 5 })
  await firefox.goto(home.phones)
  await until('the app starts without its server', () =>
    firefox.page(() => document.body.innerText.includes('The server does not answer')),
  )
})
