/** The calendars that internal/ical writes, read by another library. */
import { readdirSync, readFileSync } from 'node:fs'
import ICAL from 'ical.js'
import { describe, expect, it } from 'vitest'

const FOLDER = new URL('../../../testdata/ical/', import.meta.url)
const read = (name: string) => readFileSync(new URL(name, FOLDER), 'utf8')
const expected = JSON.parse(read('expected.json')) as Record<string, Record<string, unknown>[]>

describe.each(readdirSync(FOLDER).filter((name) => name.endsWith('.ics')))('%s', (name) => {
  const calendar = new ICAL.Component(ICAL.parse(read(name)) as string)
  const zones = calendar.getAllSubcomponents('vtimezone').map((one) => new ICAL.Timezone(one))
  const events = calendar.getAllSubcomponents('vevent').map((one) => new ICAL.Event(one))
  // ical.js knows no zones of its own: this one is the file's.
  const utc = (time: ICAL.Time) => {
    expect(['UTC', zones[0]!.tzid]).toContain(time.zone?.tzid)
    return new Date(time.toUnixTime() * 1000).toISOString().replace('.000Z', 'Z')
  }

  it('says what it is', () => {
    expect(calendar.getFirstPropertyValue('method')).toBe('PUBLISH')
    expect(String(calendar.getFirstPropertyValue('refresh-interval'))).toBe('PT4H')
    expect(zones).toHaveLength(1)
  })

  it('holds every event at its instant, with its words', () => {
    const found = events.map((event) => ({
      uid: event.uid,
      start: utc(event.startDate),
      end: utc(event.endDate),
      summary: event.summary,
      description: event.description,
      sequence: event.sequence,
      status: event.component.getFirstPropertyValue('status'),
    }))
    expect(found).toEqual(expected[name])
  })

  it('reminds half an hour before, of what takes place', () => {
    for (const event of events) {
      const alarms = event.component.getAllSubcomponents('valarm')
      const cancelled = event.component.getFirstPropertyValue('status') === 'CANCELLED'
      expect(alarms.map((alarm) => String(alarm.getFirstPropertyValue('trigger')))).toEqual(
        cancelled ? [] : ['-PT30M'],
      )
    }
  })
})
