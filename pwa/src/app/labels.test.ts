import { expect, test, vi } from 'vitest'
import { mustBin } from '../test/records'

vi.stubGlobal('location', { hash: '' })
const { labelOf, PLAIN } = await import('./labels')

test('a label says the place, the name and the dates, and its code opens the stop', () => {
  const bin = mustBin({
    id: 'abc',
    rack: 'West',
    shelf: 2,
    position: 3,
    name: 'Slate pillbugs',
    started: '2024-05-01',
  })
  const label = labelOf(
    bin,
    { renewed: '2026-03-02', renewBy: '2026-09-02' },
    'https://bins.example.org',
    'en-GB',
  )
  expect(label).toEqual({
    place: 'W2-3',
    name: 'Slate pillbugs',
    lines: ['Substrate 2 Mar 2026', 'Renew by 2 Sept 2026', 'Started 1 May 2024'],
    code: 'https://bins.example.org/#/b/abc',
  })
})

test('what nobody knows is left out', () => {
  const label = labelOf(mustBin({ id: 'abc' }), { renewed: '', renewBy: '' }, 'http://localhost:8090')
  expect(label.lines).toEqual([])
})

test('plain paper holds its labels', () => {
  for (const stock of Object.values(PLAIN)) {
    expect(2 * stock.left_mm + stock.columns * stock.label_width_mm).toBeLessThan(stock.page_width_mm + 0.01)
    expect(2 * stock.top_mm + stock.rows * stock.label_height_mm).toBeLessThan(stock.page_height_mm + 0.01)
  }
})
