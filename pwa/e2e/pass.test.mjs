import assert from 'node:assert/strict'
import { fileURLToPath } from 'node:url'
import { EXAMPLE } from './beginnings.mjs'
import { test, until } from './runner.mjs'
import { audit, SIZES, tooWide } from './screens.mjs'

const LONGEST_MS = 400_000 // many boxes, on a busy machine
const long = process.env.LONG ? test : () => undefined // minutes of it are part of `make verify`
const DAY_MS = 86_400_000
const PICTURE = fileURLToPath(new URL('../public/icons/icon-192.png', import.meta.url))
const dayFromNow = (days) => new Date(Date.now() + days * DAY_MS).toISOString().slice(0, 10)

/** What a sitter's phone keeps of a table of its own database. */
function kept(phone, table) {
  return phone.page.evaluate(
    (name) =>
      new Promise((resolve, reject) => {
        const open = indexedDB.open('underlog-pass')
        open.onerror = () => reject(open.error)
        open.onsuccess = () => {
          const rows = open.result.transaction(name).objectStore(name).getAll()
          rows.onsuccess = () => (resolve(rows.result), open.result.close())
        }
      }),
    table,
  )
}

/** The owner of the example room plans a trip on which somebody can come on any day, and makes a pass. */
async function planAndPass(owner) {
  const { page, server } = owner
  await page.goto(`${server.url}/#/away`)
  await page.getByLabel('Leaving').fill(dayFromNow(1))
  await page.getByLabel('Back', { exact: true }).fill(dayFromNow(26))
  await page.getByRole('button', { name: 'Any day' }).click()
  await page.getByLabel('Who comes').fill('Mo')
  await page.getByLabel('Whom to call').fill('Ada, 0123 456 789')
  await page.getByRole('button', { name: 'Keep this trip' }).click()
  await page.getByRole('button', { name: 'Change the trip' }).waitFor()
  await owner.allSent()
  await page.getByRole('button', { name: 'Make a pass' }).click()
  const sheet = page.getByRole('dialog')
  assert.equal(await sheet.getByLabel('Who is it for?').inputValue(), 'Mo')
  return sheet
}

/** Makes the pass that the sheet is about, and answers what follows the address of the app. */
async function made(sheet) {
  await sheet.getByRole('button', { name: 'Make a pass' }).click()
  await sheet.getByRole('img', { name: 'QR code of the pass' }).waitFor()
  return new URL(await sheet.getByLabel('The link').inputValue()).hash
}

/** Puts the clock of the server forward to ten in the morning of a day. */
const morningOf = (server, date) => server.order('POST', '/advance', { to: `${date}T10:00:00Z` })

const press = (phone, name) => phone.page.getByRole('button', { name }).first().click()

/** What to press at each instruction, of which one is shown at a time. */
const ANSWERS = [
  'It is in front of me',
  /^Damp/,
  /^I gave (?!none)/,
  'Good, go on',
  'All gone',
  'It is in',
  'They are in',
  /^It is shut/,
]

/** Answers the instruction on the screen; feel is what the next finger feels. */
async function step(phone, feel = /^Damp/) {
  const { page } = phone
  const title = page.locator('h1')
  const where = await page.getByText(/^Box \d+ of/).textContent()
  const before = `${await title.textContent()} ${where}`
  for (const answer of ANSWERS) {
    // Exact, since Undo says what it takes back.
    const name = String(answer) === '/^Damp/' ? feel : answer
    const button = page.getByRole('button', { name, exact: true }).first()
    if (!(await button.isVisible())) continue
    await button.click()
    await until(`the instruction after ${before}`, async () => {
      const count = page.getByText(/^Box \d+ of/)
      if ((await count.count()) === 0) return true
      // Either may go just then: that is another instruction, or the end.
      const now = await Promise.all([title, count].map((one) => one.textContent({ timeout: 1000 }))).catch(
        () => [],
      )
      return now.join(' ') !== before
    })
    return
  }
  assert.fail(`nothing to press at ${before}`)
}

test(
  'a sitter does a visit with the server stopped; the owner hears of it, and ends the pass',
  async (house) => {
    const { server, phone: owner } = await house.begin(EXAMPLE)
    // Every third bin: they want all sorts of things, and the walk is a third as long.
    const making = await planAndPass(owner)
    await making.getByRole('button', { name: 'Only some' }).click()
    const ticks = making.getByRole('listitem').getByRole('checkbox')
    for (let i = 1; i < (await ticks.count()); i += 3) await ticks.nth(i).check()
    const link = await made(making)
    await press(owner, 'I have handed it over')

    const sitter = await house.phone(server, [], `/${link}`)
    const { page } = sitter
    await page.getByRole('heading', { name: 'Hello Mo' }).waitFor()
    await page.getByText('Everything is on this phone.').waitFor()
    // Nothing of the app: neither its door nor its records nor its session.
    assert.equal(await page.getByRole('navigation').count(), 0)
    const databases = await page.evaluate(async () => (await indexedDB.databases()).map(({ name }) => name))
    assert.deepEqual(databases, ['underlog-pass'])
    const [{ view }] = await kept(sitter, 'passes')
    assert.ok(view.visits.length > 0, 'a month needs a visit')
    await morningOf(server, view.visits[0].date)
    await page.reload()
    await page.getByRole('heading', { name: 'Today is a visit' }).waitFor()

    await server.stop()
    await page.reload() // in the cellar
    await press(sitter, 'Start the visit')
    await step(sitter)
    await step(sitter, /^Dry/)
    await page.getByRole('heading', { name: /^Pour / }).waitFor()
    await press(sitter, /^Undo/)
    await page.getByRole('heading', { name: /press a finger/ }).waitFor()
    const [felt, strike] = await kept(sitter, 'noted')
    assert.equal(strike?.entry.struck, felt?.entry.id, 'what was taken back is struck, or was never kept')
    await step(sitter, /^Dry/)
    await step(sitter)

    await press(sitter, 'Something is wrong')
    await page.getByLabel('In your words').fill('There is water on the floor.')
    await page.locator('dialog input[type="file"]').setInputFiles(PICTURE)
    await page.getByRole('img', { name: 'The photo you took' }).waitFor()
    await press(sitter, 'Tell the owner')
    await page.getByText('It is kept on this phone and goes by itself').waitFor()
    await sitter.crash() // a flat battery
    await sitter.open(`/${link}`)
    await press(sitter, /^Go on with box 1/)
    const { page: again } = sitter
    await again.getByText(/^Box 1 of/).waitFor()
    for (let steps = 0; (await again.getByText(/^Box \d+ of/).count()) > 0; steps++) {
      assert.ok(steps < 400, 'the visit ends')
      await step(sitter)
    }
    await again.getByRole('heading', { name: 'Thank you, Mo' }).waitFor()
    await again.getByText(/notes? (is|are) kept on this phone/).waitFor()
    const noted = await kept(sitter, 'noted')
    assert.ok(noted.every((row) => row.state === 'waiting'))

    await server.start()
    await until(
      'everything that was noted has arrived',
      async () => (await kept(sitter, 'noted')).every((row) => row.state === 'sent'),
      90_000,
    )
    await again.getByText('Everything you noted has arrived.').waitFor()
    await until('the photo has arrived', async () =>
      (await kept(sitter, 'pictures')).some((row) => row.state === 'sent'),
    )
    const { entries } = await server.everything(await owner.meta('token'))
    const theirs = entries.filter((entry) => noted.some((row) => row.id === entry.id))
    assert.equal(theirs.length, noted.length)
    assert.ok(theirs.every((entry) => entry.by === view.person))

    await owner.page.evaluate(() => window.dispatchEvent(new Event('online')))
    const report = owner.page.locator('section', { hasText: 'While you are away' })
    await report.getByText('Mo: something is wrong').waitFor()
    await report.locator('.said').getByText('There is water on the floor.').waitFor()
    await report.locator('.note.alarm img').waitFor()
    await report.getByText(/bins? seen to/).waitFor()
    await owner.page
      .getByRole('list', { name: 'Passes of this trip' })
      .getByText(/\b1 visit\b/)
      .waitFor()

    const asked = []
    owner.page.on('request', (request) => asked.push(new URL(request.url()).pathname))
    await new Promise((resolve) => setTimeout(resolve, 3000))
    const passes = asked.filter((path) => path.endsWith('/passes')).length
    assert.ok(
      passes <= 1,
      `the server is asked about passes only where there is news: ${passes} times in 3 s`,
    )

    await press(owner, 'Revoke the pass of Mo')
    await owner.page.locator('.sure').getByRole('button', { name: 'Revoke' }).click()
    await owner.page.getByText('The pass of Mo is revoked.').waitFor()
    await again.evaluate(() => window.dispatchEvent(new Event('online'))) // it looks by itself every minute
    await again.getByRole('heading', { name: 'This pass is over' }).waitFor()
    assert.equal((await kept(sitter, 'passes'))[0].view, null)
    assert.deepEqual(await kept(sitter, 'walks'), [])
  },
  LONGEST_MS,
)

long(
  'every state of a pass in every light and size: accessible, and no wider than the screen',
  async (house) => {
    const { server, phone: owner } = await house.begin(EXAMPLE)
    const found = []
    await owner.page.emulateMedia({ reducedMotion: 'reduce' })
    const sheet = await planAndPass(owner)
    await sheet.getByRole('button', { name: 'Only some' }).click()
    found.push(...(await audit(owner.page, 'making a pass')))
    await sheet.getByRole('button', { name: /bins of the trip/ }).click()
    const link = await made(sheet)
    found.push(...(await audit(owner.page, 'a pass')))
    await press(owner, 'I have handed it over')
    await press(owner, 'Revoke the pass of Mo')
    found.push(...(await audit(owner.page, 'Away with a pass')))
    await press(owner, 'Cancel')

    await press(owner, 'Walk it first')
    await owner.page.getByText('Rehearsal: nothing here is kept or sent.').waitFor()
    await owner.page.getByRole('heading', { name: 'Your first visit' }).waitFor()
    found.push(...(await audit(owner.page, 'rehearsal')))
    const before = await owner.all('entries')
    await press(owner, 'I am here already')
    await step(owner)
    await step(owner)
    await press(owner, 'Leave')
    await owner.page.getByRole('button', { name: 'Change the trip' }).waitFor()
    assert.equal((await owner.all('entries')).length, before.length, 'a rehearsal writes nothing')

    const sitter = await house.phone(server, [], '/#/p/cut-off')
    const { page } = sitter
    await page.emulateMedia({ reducedMotion: 'reduce' })
    await page.getByRole('heading', { name: 'This link opens nothing' }).waitFor()
    found.push(...(await audit(page, 'wrong link')))
    await sitter.worker()
    await server.stop()
    await page.goto(`${server.url}/${link}`)
    await page.getByRole('heading', { name: 'This page needs signal once' }).waitFor({ timeout: 60_000 })
    found.push(...(await audit(page, 'first opening without signal')))
    await server.start()
    await page.getByRole('heading', { name: 'Hello Mo' }).waitFor()
    found.push(...(await audit(page, 'before the trip')))

    const [{ view }] = (await kept(sitter, 'passes')).filter((row) => row.view)
    await morningOf(server, view.visits[0].date)
    await page.reload()
    await page.getByRole('heading', { name: 'Today is a visit' }).waitFor()
    found.push(...(await audit(page, 'a visit today')))
    await press(sitter, 'Start the visit')
    await page.getByText(/^Box 1 of/).waitFor()
    const seen = new Set()
    let told = false
    for (let steps = 0; (await page.getByText(/^Box \d+ of/).count()) > 0; steps++) {
      assert.ok(steps < 400, 'the visit ends')
      // Every sort of instruction once: told apart by its first words.
      const sort = (await page.locator('h1').textContent()).trim().split(' ').slice(0, 2).join(' ')
      if (!seen.has(sort)) {
        seen.add(sort)
        found.push(...(await audit(page, `the instruction ${sort}`)))
        await page.evaluate(() => (document.documentElement.style.fontSize = '200%'))
        found.push(...(await tooWide(page, `the instruction ${sort} with text of 200 %`)))
        await page.evaluate(() => (document.documentElement.style.fontSize = ''))
      }
      if (!told && steps > 2) {
        await press(sitter, 'Something is wrong')
        found.push(...(await audit(page, 'something is wrong')))
        await page.getByLabel('In your words').fill('It smells.')
        await press(sitter, 'Tell the owner')
        await page.getByText('It has reached').waitFor()
        found.push(...(await audit(page, 'something is wrong, told')))
        await press(sitter, 'Back to this box')
        told = true
      }
      await step(sitter, steps < 3 ? /^Dry/ : /^Damp/)
    }
    await page.getByRole('heading', { name: 'Thank you, Mo' }).waitFor()
    found.push(...(await audit(page, 'thanks')))
    await press(sitter, 'To the overview')
    await page.getByRole('heading', { level: 1 }).waitFor()
    found.push(...(await audit(page, 'between visits')))
    await until(
      'everything that was noted has arrived',
      async () => (await kept(sitter, 'noted')).every((row) => row.state === 'sent'),
      90_000,
    )
    await owner.page.evaluate(() => window.dispatchEvent(new Event('online')))
    await owner.page.getByText('Mo: something is wrong').waitFor()
    found.push(...(await audit(owner.page, 'while away')))

    assert.deepEqual(found, [])
    await morningOf(server, new Date(Date.parse(view.returns) + 4 * DAY_MS).toISOString().slice(0, 10))
    await page.reload()
    await page.getByRole('heading', { name: 'The trip is over' }).waitFor()
    found.push(...(await audit(page, 'after the trip')))
    await page.setViewportSize(SIZES[0])
    assert.deepEqual(found, [])
  },
  2 * LONGEST_MS,
)

test('on the phone of an owner a pass and the room know nothing of each other', async (house) => {
  const { server, phone: owner } = await house.begin(EXAMPLE)
  const link = await made(await planAndPass(owner))
  const { page } = owner
  await press(owner, 'I have handed it over')
  const before = { entries: await owner.all('entries'), token: await owner.meta('token') }
  await page.goto(`${server.url}/${link}`)
  await page.getByRole('heading', { name: 'Hello Mo' }).waitFor()
  await press(owner, 'I am here already')
  await step(owner)
  await step(owner, /^Dry/)
  await until('it is noted', async () => (await kept(owner, 'noted')).length === 1)
  assert.equal((await owner.all('entries')).length, before.entries.length)
  await page.goto(`${server.url}/`)
  await page.locator('.stops a').first().waitFor()
  assert.equal(await owner.meta('token'), before.token)
})
