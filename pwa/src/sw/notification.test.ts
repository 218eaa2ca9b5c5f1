import { expect, it, vi } from 'vitest'
import { notificationOf, pathOf, settledOf, textOf } from './notification'

const said = (message: unknown) => notificationOf(JSON.stringify(message))

it('shows a declarative message as it says', () => {
  const actions = [{ action: 'all-gone', title: 'All gone', navigate: '/#/alert?of=x&did=all-gone' }]
  const notification = {
    title: 'Check leftover food',
    body: 'W2-3',
    tag: 't',
    navigate: '/#/alert?of=x',
    data: { at: 1 },
    actions,
  }
  const { title, options, badge } = said({ web_push: 8030, notification, app_badge: 3 })
  expect([title, options.body, options.tag, badge]).toEqual(['Check leftover food', 'W2-3', 't', 3])
  expect(options.data).toEqual({ at: 1, navigate: '/#/alert?of=x' })
  expect(options.actions).toEqual([{ action: 'all-gone', title: 'All gone' }])
})

it('whatever comes, something is shown that a browser takes', () => {
  const odd: (string | undefined)[] = [
    undefined,
    '',
    'not even JSON',
    '{"notification":',
    '\u0000\ufffd'.repeat(900),
  ]
  for (const value of [
    null,
    7,
    'x',
    [],
    {},
    { notification: null },
    { notification: [] },
    { notification: 'x' },
    { web_push: 99 },
  ])
    odd.push(JSON.stringify(value))
  for (const value of [null, 5, {}, []]) {
    odd.push(
      JSON.stringify({
        notification: { title: value, body: value, tag: value, actions: value, data: value, navigate: value },
      }),
    )
    odd.push(
      JSON.stringify({
        notification: { title: 'A title', body: value, tag: value, actions: [value], data: value },
        app_badge: value,
      }),
    )
  }
  for (const message of odd) {
    const { title, options } = notificationOf(message)
    expect(title, message).not.toBe('')
    expect([typeof title, typeof options.body, typeof options.tag], message).toEqual([
      'string',
      'string',
      'string',
    ])
    expect(options.tag, message).not.toBe('')
    expect(options.actions, message).toEqual([])
    if (title === 'Underlog') expect(options.body, message).toMatch(/wants a look/)
  }
})

it('a number on the sign is a count, or none', () => {
  expect(said({ app_badge: 0 }).badge).toBe(0)
  for (const odd of [-1, 1.5, '3', null, {}]) expect(said({ app_badge: odd })).not.toHaveProperty('badge')
})

it('one that is settled says so, keeps its place and asks for nothing', () => {
  const shown = said({
    notification: { title: 'Check leftover food', tag: 't', actions: [{ action: 'a', title: 'A' }] },
  })
  const { title, options } = settledOf(shown)
  expect(title).toBe('Done already: check leftover food')
  expect([options.tag, options.silent, options.actions]).toEqual(['t', true, []])
})

it('a browser that reads the message by itself hands over the same', () => {
  const notification = {
    title: 'Check leftover food',
    body: 'W2-3',
    tag: 't',
    data: { at: 1 },
    actions: [],
    navigate: '/#/alert?of=x',
  }
  const event = { data: null, notification, appBadge: 2 } as unknown as Parameters<typeof textOf>[0]
  expect(notificationOf(textOf(event))).toEqual(said({ notification, app_badge: 2 }))
})

it('a tap leads within the app, whatever the message says', () => {
  vi.stubGlobal('self', { location: { origin: 'https://bins.example.org' } })
  expect(pathOf({ navigate: '/#/alert?of=x' })).toBe('/#/alert?of=x')
  expect(pathOf({ navigate: 'https://bins.example.org/#/room' })).toBe('/#/room')
  for (const odd of [
    'https://elsewhere.example/',
    '//elsewhere.example',
    'javascript:alert(1)',
    'http://',
    5,
    null,
    undefined,
  ])
    expect(pathOf({ navigate: odd })).toBe('/')
  expect(pathOf(null)).toBe('/')
  vi.unstubAllGlobals()
})
