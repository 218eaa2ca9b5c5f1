/** Every screen and state of the app, and the way to each in the example household. */
import axe from 'axe-core'

export const SIZES = [
  { width: 390, height: 844 },
  { width: 768, height: 1024 },
  { width: 1440, height: 900 },
]
export const LIGHTS = ['day', 'dusk', 'red']

/** Fills a phone with the example household; answers when its first round is there. */
export async function lookAround(phone) {
  const { page } = phone
  await page.getByRole('button', { name: 'Look around an example room' }).click()
  await page.locator('.stops a').first().waitFor({ timeout: 60_000 })
}

/** Goes to a page by its address, without loading the app anew. */
async function at(page, hash) {
  await page.evaluate((hash) => (location.hash = hash), hash)
}

/** Name and way of every screen; each leaves the page so that the next one finds its way. */
export function screens(phone) {
  const { page } = phone
  const main = page.locator('main')
  const sheet = page.getByRole('dialog')
  const heading = (name) => main.getByRole('heading', { level: 1, name }).waitFor()
  const bin = async () => {
    const rows = await phone.all('sheets')
    return rows
      .filter((row) => row.sheet === 'bins')
      .map((row) => row.id)
      .sort()[0]
  }
  const stop = async () => {
    await at(page, `#/stop/${await bin()}`)
    await sheet.getByRole('heading').first().waitFor()
  }
  return [
    ['Round', async () => (await at(page, '#/'), await page.locator('.stops a').first().waitFor())],
    ['stop', stop],
    [
      'stop, everything',
      async () => {
        await stop()
        await sheet.getByRole('button', { name: 'More…' }).click()
      },
    ],
    [
      'same for these',
      async () => {
        await sheet.getByRole('button', { name: 'Same for these…' }).click()
        await page.getByRole('heading', { name: 'Same for these…' }).waitFor()
      },
      async () => page.getByRole('dialog').last().getByRole('button', { name: 'Cancel' }).click(),
    ],
    [
      'stop of no bin',
      async () => {
        await at(page, '#/stop/none')
        await sheet.getByRole('heading', { name: 'This bin is not in the room any more.' }).waitFor()
      },
    ],
    [
      'an alert',
      async () => {
        await at(page, `#/alert?damp=${await bin()}`)
        await main.getByRole('button', { name: 'dry' }).first().waitFor()
      },
    ],
    ['Rack', async () => (await at(page, '#/rack'), await page.locator('.bins a').first().waitFor())],
    [
      'Rack, filtered',
      async () =>
        page.getByRole('group', { name: 'Show bins that want' }).getByRole('button').first().click(),
      async () =>
        page.getByRole('group', { name: 'Show bins that want' }).getByRole('button').first().click(),
    ],
    [
      'Rack, moving',
      async () => {
        await page.getByRole('button', { name: 'Move bins' }).click()
        await page
          .getByRole('button', { name: /^Pick up/ })
          .first()
          .click()
      },
      async () => page.getByRole('button', { name: 'Done moving' }).click(),
    ],
    ['Labels', async () => (await at(page, '#/labels'), await page.locator('form input').first().waitFor())],
    [
      'Renewals',
      async () => (await at(page, '#/renewals'), await page.locator('button.block').first().waitFor()),
    ],
    [
      'Renewals, one in hand',
      async () => page.locator('button.block').first().click(),
      async () => page.getByRole('button', { name: 'Leave it there' }).click(),
    ],
    [
      'Feed the shelf',
      async () => {
        await at(page, '#/feeding')
        await page.getByLabel('Which bins').selectOption({ label: 'Alcove' })
        const board = main.locator('.board li').first()
        const anyway = main.getByText('Feed it anyway').first() // what is due hangs on the hour
        await board.or(anyway).first().waitFor()
        if (!(await board.isVisible())) await anyway.click()
        await board.waitFor()
      },
    ],
    [
      'Feed the shelf, one changed',
      async () => {
        await main
          .getByRole('button', { name: /^Change / })
          .first()
          .click()
        await main.locator('summary').click()
        await page.getByLabel('Food', { exact: true }).waitFor()
      },
    ],
    [
      'Foods',
      async () => {
        await at(page, '#/foods')
        await main.locator('svg[role=img]').first().waitFor()
      },
    ],
    [
      'Foods, one edited',
      async () => {
        await main.getByRole('button', { name: 'Edit Melon' }).click()
        await sheet.getByLabel('What to mind').waitFor()
      },
      async () => page.keyboard.press('Escape'),
    ],
    [
      'Bin',
      async () => {
        await at(page, `#/bin/${await bin()}`)
        await page.locator('article h1').waitFor()
        const code = page.locator('summary', { hasText: 'Its code' })
        await code.click()
        await page.locator('details figure svg').waitFor()
      },
    ],
    ['Larder', async () => (await at(page, '#/larder'), await main.locator('.chart a').first().waitFor())],
    [
      'a batch of leaves',
      async () => {
        await main
          .getByRole('link', { name: /Leaves 11/ })
          .last()
          .click()
        await main.getByRole('heading', { name: 'Which bins got it' }).waitFor()
        await main.locator('.uses').first().waitFor()
      },
    ],
    [
      'a new batch',
      async () => (await at(page, '#/larder/batches/new'), await main.getByLabel('Tree').waitFor()),
    ],
    [
      'a new mix',
      async () => (await at(page, '#/larder/mixes/new'), await main.getByLabel('Ingredient').waitFor()),
    ],
    [
      'food for the larder',
      async () => (
        await at(page, '#/larder/stock/new'),
        await main.getByRole('group', { name: 'Which food' }).waitFor()
      ),
    ],
    [
      'a new supply',
      async () => (
        await at(page, '#/larder/supplies/new'),
        await main.getByRole('group', { name: 'What is it' }).waitFor()
      ),
    ],
    [
      'a supply',
      async () => {
        await at(page, '#/larder')
        await main
          .getByRole('link', { name: /Springtail culture/ })
          .last()
          .click()
        await main.getByRole('button', { name: 'Took one' }).waitFor()
      },
    ],
    [
      'Away',
      async () => {
        await at(page, '#/away')
        const fold = main.getByText(/lasts? as (they are|it is): show/)
        const strip = main.getByRole('img', { name: /dried through before the return/ }).first()
        await fold.or(strip).first().waitFor()
        if (!(await strip.isVisible())) await fold.click()
        await strip.waitFor()
      },
    ],
    ['Edit', async () => (await at(page, `#/bin/${await bin()}/edit`), await heading(/^Edit /))],
    ['New bin', async () => (await at(page, '#/bin/new'), await heading('A new bin'))],
    [
      'New bin, refused',
      async () => {
        await page.getByRole('button', { name: 'Save the bin' }).click()
        await page.locator('[aria-invalid="true"]').first().waitFor()
      },
    ],
    [
      'Notebook',
      async () => {
        await at(page, '#/notebook')
        await main.locator('.rows li').first().waitFor()
      },
    ],
    [
      'Notebook, nothing found',
      async () => {
        await page.getByRole('searchbox').fill('nothing of the kind')
        await page.getByText('No entry is like that.').waitFor()
      },
      async () => page.getByRole('button', { name: 'Show everything' }).click(),
    ],
    ['Needs a look', async () => (await at(page, '#/needs-a-look'), await heading('Needs a look'))],
    [
      'Find',
      async () => {
        await at(page, '#/find')
        await page.getByRole('searchbox').fill('a')
        await page.getByText(/bins found/).waitFor()
      },
    ],
    [
      'Find, a place',
      async () => {
        const code = await main.locator('.rows .code').first().textContent()
        await page.getByRole('searchbox').fill(code)
        await page.getByRole('button', { name: `Go to ${code}` }).waitFor()
      },
    ],
    [
      'Find, nothing',
      async () => {
        await page.getByRole('searchbox').fill('nothing of the kind')
        await page.getByText('Nothing is called that.').waitFor()
      },
    ],
    [
      'Scan, the camera refused',
      async () => {
        await at(page, '#/scan')
        await page.getByText('The camera was refused.').waitFor()
        await page.getByLabel('Or type the place').fill('no place')
        await page.getByRole('button', { name: 'Go to the stop' }).click()
        await page.getByText('No bin stands at no place.').waitFor()
      },
    ],
    ['Sign in with a code', async () => (await at(page, '#/pair'), await heading('Sign in with a code'))],
    ['Room', async () => (await at(page, '#/room'), await page.getByText('About Underlog').waitFor())],
    [
      'Room, its forms open',
      async () => {
        for (const name of ['Remove the example', 'Sign out of this device', 'Add a helper', 'Add a sensor'])
          await main.getByRole('button', { name }).click()
        await page.getByLabel('What is it called?').waitFor()
      },
    ],
    [
      'Room, a code for another phone',
      async () => {
        await main.getByRole('button', { name: 'Show a code' }).click()
        await sheet.getByRole('heading').first().waitFor()
      },
      async () => page.keyboard.press('Escape'),
    ],
    [
      'Help',
      async () => {
        await page.keyboard.press('Escape')
        await main.focus()
        await page.keyboard.press('?')
        await page.getByRole('heading', { name: 'Shortcuts' }).waitFor()
      },
      async () => page.keyboard.press('Escape'),
    ],
    ['no such page', async () => (await at(page, '#/nowhere'), await heading('There is no page here.'))],
  ].map(([name, open, leave]) => ({ name, open, leave: leave ?? (async () => undefined) }))
}

/** Changes the light, and waits until no colour is on its way from one to the other. */
export async function light(page, name) {
  await page.evaluate((name) => {
    document.documentElement.dataset.light = name
  }, name)
}

/** What is wider than the screen, if anything is. */
export async function tooWide(page, what) {
  const wide = await page.evaluate(() => {
    const most = document.documentElement.clientWidth
    if (document.documentElement.scrollWidth <= most) return ''
    const over = [...document.querySelectorAll('body *')].filter(
      (one) => one.getBoundingClientRect().right > most + 1 && one.getClientRects().length > 0,
    )
    return over
      .filter((one) => !over.some((other) => other !== one && one.contains(other))) // the innermost
      .slice(0, 3)
      .map((one) => `${one.tagName.toLowerCase()}.${one.className} "${one.textContent.trim().slice(0, 40)}"`)
      .join('; ')
  })
  return wide === '' ? [] : [`${what}: ${wide}`]
}

const STANDARD = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']

/**
 * Marks what contrast has to be measured of: text and fields, one of each sort. Alike are those that look alike all the
 * way up; a list of a hundred rows is measured once. What lies over it by chance is looked at by day, on all of it.
 */
function markSorts(where) {
  const STYLE =
    'color backgroundColor backgroundImage opacity filter fontSize fontWeight position clipPath visibility'
  const names = STYLE.split(' ')
  const numbers = new Map() // of each look
  const looks = new Map() // the number of each element's
  const marked = new Set()
  for (const one of document.querySelectorAll(`${where} *`)) {
    const style = getComputedStyle(one)
    const own = [
      one.tagName,
      one.className,
      one.matches(':disabled'),
      one.ariaDisabled,
      ...names.map((name) => style[name]),
    ]
    const look = [looks.get(one.parentElement), ...own].join()
    if (!numbers.has(look)) numbers.set(look, numbers.size)
    const number = numbers.get(look)
    looks.set(one, number)
    const hasText = [...one.childNodes].some(
      (node) => node.nodeType === Node.TEXT_NODE && node.data.trim() !== '',
    )
    const is =
      (hasText || one.matches('input, select, textarea')) && one.checkVisibility() && !marked.has(number)
    if (is) marked.add(number)
    one.toggleAttribute('data-sort', is)
  }
}

/**
 * What axe-core finds by every rule, or only by those that the light can
 * change; on the whole page or in what a selector names.
 */
export async function barriers(page, what, { contrastOnly = false, where = 'html' } = {}) {
  // It stays in the page: to read it anew for every light took longer than to look.
  if (!(await page.evaluate(() => 'axe' in window))) await page.evaluate(axe.source)
  if (contrastOnly) await page.evaluate(markSorts, where)
  const rules = contrastOnly
    ? { type: 'rule', values: ['color-contrast'] }
    : { type: 'tag', values: STANDARD }
  const violations = await page.evaluate(
    async ([where, options]) => {
      // Colours are looked at once the light has changed, not on the way.
      const fading = document.getAnimations().filter((one) => one instanceof CSSTransition)
      await Promise.all(fading.map((one) => one.finished.catch(() => undefined)))
      return (await window.axe.run(where, options)).violations
    },
    [contrastOnly ? `${where} [data-sort]` : where, { runOnly: rules, resultTypes: ['violations'] }],
  )
  return violations.flatMap(({ id, nodes }) =>
    nodes
      .slice(0, 3)
      .map(
        (node) =>
          `${what}: ${id}: ${node.target.join(' ')} ${node.any[0]?.message ?? node.all[0]?.message ?? ''}`,
      ),
  )
}

const ON_ITS_SIDE = { width: 844, height: 390 }

/** What is wrong with the page as it stands, in every light and size, on its side and with text twice as large. */
export async function audit(page, what) {
  const found = []
  for (const one of LIGHTS) {
    await light(page, one)
    found.push(...(await barriers(page, `${what} (${one})`, { contrastOnly: one !== 'day' })))
  }
  for (const size of [...SIZES, ON_ITS_SIDE]) {
    if (size !== SIZES[0]) await page.setViewportSize(size) // there it stands, and to say so again takes a layout
    found.push(...(await tooWide(page, `${what} at ${size.width} by ${size.height}`)))
  }
  await page.setViewportSize(SIZES[0])
  await page.evaluate(() => (document.documentElement.style.fontSize = '200%'))
  found.push(...(await tooWide(page, `${what} with text of 200 %`)))
  await page.evaluate(() => (document.documentElement.style.fontSize = ''))
  return found
}

/** Puts an entry aside as a server's refusal does. */
export function refuse(phone) {
  return phone.page.evaluate(
    () =>
      new Promise((resolve, reject) => {
        const open = indexedDB.open('underlog')
        open.onsuccess = () => {
          const work = open.result.transaction('refused', 'readwrite')
          work.objectStore('refused').add({
            position: 1,
            name: 'e'.repeat(32),
            id: 'e'.repeat(32),
            sort: 'entry',
            record: { id: 'e'.repeat(32), at: new Date().toISOString(), what: 'water', water_ml: 9000 },
            attempts: 1,
            problems: [{ field: 'water_ml', value: '9000', accepted: 'give 1 to 2000 mL' }],
            sentence: 'water_ml is 9000: give 1 to 2000 mL.',
            since: new Date().toISOString(),
            correction: 0,
          })
          work.onerror = () => reject(work.error)
          work.oncomplete = () => (open.result.close(), resolve())
        }
      }),
  )
}
