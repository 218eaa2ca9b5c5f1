import { expect, it, vi } from 'vitest'

vi.stubGlobal('location', { hash: '' })
const { readRoute, to } = await import('./route')

it.each([
  ['', { page: 'round' }],
  ['#/', { page: 'round' }],
  ['#/rack', { page: 'rack' }],
  ['#/needs-a-look', { page: 'needs-a-look' }],
  ['#/scan', { page: 'scan' }],
  ['#/b/0197', { page: 'stop', bin: '0197' }],
  ['#/stop/0197', { page: 'stop', bin: '0197' }],
  ['#/stop/0197?of=ab12', { page: 'stop', bin: '0197', of: 'ab12' }],
  ['#/alert?of=f1,f2&damp=b1', { page: 'alert', of: ['f1', 'f2'], damp: ['b1'] }],
  ['#/alert?of=f1&in=b1&did=all-gone', { page: 'alert', of: ['f1'], damp: [], in: 'b1', did: 'all-gone' }],
  ['#/alert', { page: 'alert', of: [], damp: [] }],
  ['#/bin/0197', { page: 'bin', bin: '0197' }],
  ['#/bin/0197/edit', { page: 'edit-bin', bin: '0197' }],
  ['#/bin/new', { page: 'new-bin' }],
  ['#/bin/new?rack=Attic%20rack&shelf=2', { page: 'new-bin', rack: 'Attic rack', shelf: 2 }],
  ['#/bin/new?shelf=-3', { page: 'new-bin' }],
  ['#/pair', { page: 'pair' }],
  ['#/pair/7KMNP-Q2RST', { page: 'pair', code: '7KMNP-Q2RST' }],
  ['#/pair/7KMNP/Q2RST', { page: 'lost' }],
  ['#/away/0197', { page: 'away', trip: '0197' }],
  ['#/away/0197/walk', { page: 'rehearse', trip: '0197' }],
  ['#/p/s3cr-et_', { page: 'pass' }],
  ['#/p/cut off', { page: 'pass' }],
  ['#/p/', { page: 'pass' }],
  ['#/pass', { page: 'lost' }],
  ['#/feeding', { page: 'feeding' }],
  ['#/feeding?rack=West&shelf=2', { page: 'feeding', rack: 'West', shelf: 2 }],
  ['#/foods', { page: 'foods' }],
  ['#/larder', { page: 'larder' }],
  ['#/larder/batches/new', { page: 'larder', sort: 'batches', item: 'new' }],
  ['#/larder/jars/new', { page: 'lost' }],
  ['#/rack/extra', { page: 'lost' }],
  ['#/nowhere', { page: 'lost' }],
  ['#/bin/%E0%A4%A', { page: 'bin', bin: '%E0%A4%A' }],
])('%s', (hash, route) => expect(readRoute(hash)).toEqual(route))

it('reads what it writes', () => {
  expect(readRoute(to.stop('a.b-c', 'x?y&z'))).toEqual({ page: 'stop', bin: 'a.b-c', of: 'x?y&z' })
  expect(readRoute(to.newBinAt('Door & window', 3))).toEqual({
    page: 'new-bin',
    rack: 'Door & window',
    shelf: 3,
  })
})
