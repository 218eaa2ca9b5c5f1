import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import type { Entry, Problem, SheetSort } from '../types'
import { checkEntry, checkSheet, sentence } from './check'

interface Case {
  name: string
  entry?: Partial<Entry>
  sort?: SheetSort
  fields?: Record<string, unknown>
  problems: Problem[] | null
}

const file = new URL('../../../testdata/checks.json', import.meta.url)
const vectors = JSON.parse(readFileSync(file, 'utf8')) as { now: string; cases: Case[] }

describe('the check of records, as in Go', () => {
  const now = Date.parse(vectors.now)
  it.each(vectors.cases)('$name', ({ entry, sort, fields, problems }) => {
    const found = entry ? checkEntry(entry, now) : checkSheet(sort!, fields!, now)
    expect(found).toEqual(problems ?? [])
  })
})

it('a whole bin is asked for what it lacks', () => {
  const missing = checkSheet('bins', { name: 'Pied' }, Date.now(), true).map((problem) => problem.field)
  expect(missing).toContain('rack')
  expect(missing).toContain('length_mm')
  expect(missing).not.toContain('name')
})

it('a sentence names field, value and what is accepted', () => {
  const [problem] = checkEntry(
    { id: 'a', at: '2026-11-24T19:05:00Z', what: 'water', bin: 'b', water_ml: -3 },
    Date.parse('2026-11-25T09:00:00Z'),
  )
  expect(sentence(problem!)).toBe('water_ml is -3: give a number from 1 to 2000 mL.')
})
