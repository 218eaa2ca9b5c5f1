import { afterEach, beforeEach, expect, it, vi } from 'vitest'
import { mustHaveFreshDevice } from '../test/room'
import { db } from '../data/db'
import { listen } from './nudge'

/** A browser's EventSource as far as the nudge uses it; a test says what the line does. */
class Stream extends EventTarget {
  static all: Stream[] = []
  closed = false
  onerror: (() => void) | null = null

  constructor(readonly address: string) {
    super()
    Stream.all.push(this)
  }

  close(): void {
    this.closed = true
  }

  say(event: string, data: unknown): void {
    this.dispatchEvent(new MessageEvent(event, { data: JSON.stringify(data) }))
  }
}

let page: EventTarget & { visibilityState: string }
let subscribed: unknown[]
let isAway: boolean
let stop: () => void

beforeEach(async () => {
  await mustHaveFreshDevice()
  Stream.all = []
  subscribed = []
  isAway = false
  page = Object.assign(new EventTarget(), { visibilityState: 'visible' })
  vi.stubGlobal('document', page)
  vi.stubGlobal('EventSource', Stream)
  vi.stubGlobal('fetch', (_path: string, init: RequestInit) => {
    if (isAway) throw new TypeError('Failed to fetch')
    subscribed.push(JSON.parse(init.body as string))
    return Response.json({})
  })
})
afterEach(() => {
  vi.useRealTimers()
  stop()
  vi.unstubAllGlobals()
  vi.restoreAllMocks()
})

async function mustConnect(stream: Stream, before: number): Promise<void> {
  stream.say('PB_CONNECT', { clientId: 'c1' })
  await vi.waitFor(() => expect(subscribed).toHaveLength(before + 1))
}

const last = () => Stream.all.at(-1)!

it('asks for the news, and exchanges on every connection and every hint', async () => {
  const onNews = vi.fn()
  stop = listen(onNews)
  await vi.waitFor(() => expect(Stream.all).toHaveLength(1))
  await mustConnect(last(), 0)
  expect(subscribed).toEqual([{ clientId: 'c1', subscriptions: ['news'] }])
  await vi.waitFor(() => expect(onNews).toHaveBeenCalledTimes(1))
  last().say('news', { cursor: 7 })
  expect(onNews).toHaveBeenCalledTimes(2)
})

it('calls again after pauses that double to a minute at most, and starts small after a connection', async () => {
  vi.spyOn(Math, 'random').mockReturnValue(1) // the longest pauses
  stop = listen(() => undefined)
  await vi.waitFor(() => expect(Stream.all).toHaveLength(1))
  await mustConnect(last(), 0)
  vi.useFakeTimers({ toFake: ['setTimeout', 'clearTimeout'] })

  const pauseAfterFailure = async () => {
    const count = Stream.all.length
    const failed = last()
    failed.onerror!()
    expect(failed.closed).toBe(true)
    let seconds = 0
    while (Stream.all.length === count && seconds < 600) {
      await vi.advanceTimersByTimeAsync(1000)
      seconds += 1
    }
    return seconds
  }
  const pauses = []
  for (let i = 0; i < 7; i++) pauses.push(await pauseAfterFailure())
  expect(pauses).toEqual([4, 8, 16, 32, 60, 60, 60])

  last().say('PB_CONNECT', { clientId: 'c2' }) // the server is back
  vi.useRealTimers()
  await vi.waitFor(() => expect(subscribed).toHaveLength(2))
  await new Promise((resolve) => setTimeout(resolve, 20))
  vi.useFakeTimers({ toFake: ['setTimeout', 'clearTimeout'] })
  expect(await pauseAfterFailure()).toBe(4)
})

it('takes a subscription that fails for a failure, and one line is open at a time', async () => {
  vi.spyOn(Math, 'random').mockReturnValue(0)
  stop = listen(() => undefined)
  await vi.waitFor(() => expect(Stream.all).toHaveLength(1))
  isAway = true
  last().say('PB_CONNECT', { clientId: 'c1' })
  await vi.waitFor(() => expect(Stream.all[0]!.closed).toBe(true))
  isAway = false
  await vi.waitFor(() => expect(Stream.all).toHaveLength(2), 5000)
  expect(Stream.all.filter((stream) => !stream.closed)).toHaveLength(1)
})

it('is silent while the page is hidden or nobody is signed in', async () => {
  stop = listen(() => undefined)
  await vi.waitFor(() => expect(Stream.all).toHaveLength(1))
  page.visibilityState = 'hidden'
  page.dispatchEvent(new Event('visibilitychange'))
  expect(last().closed).toBe(true)
  page.visibilityState = 'visible'
  page.dispatchEvent(new Event('visibilitychange'))
  expect(Stream.all).toHaveLength(2)
  await db.meta.delete('token')
  await vi.waitFor(() => expect(last().closed).toBe(true))
  expect(Stream.all).toHaveLength(2)
})
