/**
 * What is wrong with a field of a form, in one sentence that names the field
 * by its label, the value, and what fits in the measures of the household. The
 * bounds are husbandry's; only the words are the form's.
 */
import { checkField } from '../data/check'
import { limits } from '../data/limits'
import type { Field, SheetSort } from '../types'
import { readings } from '../words/en'
import { wrong } from '../words/en.pages'
import { fromCelsius, fromMm, lengthUnit, temperatureUnit, type Units } from '../words/units'

const LONGEST_SHOWN = 60

export function rule(sort: SheetSort, name: string): Field {
  const found = limits.sheets[sort].find((field) => field.name === name)
  if (!found) throw new Error(`no rule for ${sort}.${name}`)
  return found
}

export function openingRule(name: string): Field {
  const found = limits.opening.find((field) => field.name === name)
  if (!found) throw new Error(`no rule for an opening's ${name}`)
  return found
}

/** The sentence, or '' where the value fits. */
export function problemOf(field: Field, label: string, value: unknown, units: Units, now: number): string {
  const problem = checkField(field, value, now)
  if (!problem) return ''
  const fits = accepted(field, units)
  if (value === undefined || value === null || (typeof value === 'string' && value.trim() === ''))
    return wrong.missing(label, fits)
  return wrong.is(label, written(field, value, units), fits)
}

/** A typed text that is no number at all. */
export function notANumber(label: string, text: string): string {
  return wrong.is(label, shorten(text), wrong.notANumber)
}

function accepted(field: Field, units: Units): string {
  switch (field.type) {
    case 'text':
      return wrong.text(field.max, field.required ?? false)
    case 'number':
      return wrong.number(
        bound(field, field.min, units, Math.ceil),
        bound(field, field.max, units, Math.floor),
        unit(field, units),
      )
    case 'whole':
      return wrong.whole(String(field.min), String(field.max))
    case 'day':
      return wrong.day
    default:
      return wrong.choose
  }
}

/** A bound in the household's measures, rounded to the inside so that it is itself accepted. */
function bound(field: Field, value: number, units: Units, inwards: (x: number) => number): string {
  if (units === 'metric') return String(value)
  if (field.unit === 'mm') return String(inwards((value / 25.4) * 100) / 100)
  if (field.unit === '°C') return String(fromCelsius(value, units))
  return String(value)
}

function written(field: Field, value: unknown, units: Units): string {
  if (typeof value !== 'number') return shorten(readings[String(value)] ?? String(value))
  if (field.unit === 'mm') return `${fromMm(value, units)} ${lengthUnit(units)}`
  if (field.unit === '°C') return `${fromCelsius(value, units)} ${temperatureUnit(units)}`
  return String(value)
}

function unit(field: Field, units: Units): string {
  if (field.unit === 'mm') return lengthUnit(units)
  if (field.unit === '°C') return temperatureUnit(units)
  return field.unit ?? ''
}

function shorten(text: string): string {
  const letters = [...text]
  return letters.length <= LONGEST_SHOWN
    ? text
    : wrong.long(letters.slice(0, LONGEST_SHOWN).join(''), letters.length)
}
