/**
 * What people measure with. Records are metric (mL, mm, °C); a household that
 * chose US units reads and types tablespoons, inches and Fahrenheit. The
 * conversions are exact by definition: 1 in = 25.4 mm; 1 US tablespoon is half
 * a US fluid ounce, 1/256 of a gallon of 231 cubic inches.
 */
export type Units = 'us' | 'metric'

export const ML_PER_TABLESPOON = (231 * 16.387064) / 256
export const MM_PER_INCH = 25.4

/** One press of a dose stepper, in mL: half a tablespoon or 5 mL. */
export function doseStep(units: Units): number {
  return units === 'us' ? ML_PER_TABLESPOON / 2 : 5
}

/** The dose in whole steps nearest to ml, never less than one step. */
export function doseSteps(ml: number, units: Units): number {
  return Math.max(1, Math.round(ml / doseStep(units)))
}

/** The mL of so many steps, rounded to a tenth as entries carry it. */
export function stepsToMl(steps: number, units: Units): number {
  return tenth(steps * doseStep(units))
}

const HALVES = ['', '½']

/** A number of halves as people write it: ½, 1, 2½. */
export function halves(count: number): string {
  const whole = Math.floor(count / 2)
  const rest = HALVES[count % 2] ?? ''
  return whole === 0 && rest !== '' ? rest : `${whole}${rest}`
}

/** Above so many half spoons a dose is measured in millilitres first: nobody measures 5½ spoons 24 times. */
export const MANY_HALVES = 6

/** The millilitres of many spoons, as a measuring cup has them. */
export function cupMl(ml: number): number {
  return Math.round(ml / 5) * 5
}

export function volume(ml: number, units: Units): string {
  if (!(ml > 0)) return `${ml}\u00a0mL` // no dose that anybody gave: shown as it was written
  if (units === 'metric') return `${Math.round(ml)}\u00a0mL`
  const steps = Math.max(1, Math.round((ml / ML_PER_TABLESPOON) * 2))
  const spoons = `${halves(steps)}\u00a0tbsp`
  return steps > MANY_HALVES ? `${cupMl(ml)}\u00a0mL (${spoons})` : spoons
}

/** Millimetres as the household reads them: whole mm, or inches to a hundredth. */
export function fromMm(mm: number, units: Units): number {
  return units === 'us' ? Math.round((mm / MM_PER_INCH) * 100) / 100 : tenth(mm)
}

export function toMm(value: number, units: Units): number {
  return units === 'us' ? tenth(value * MM_PER_INCH) : value
}

export function lengthUnit(units: Units): string {
  return units === 'us' ? 'in' : 'mm'
}

export function length(mm: number, units: Units): string {
  return `${fromMm(mm, units)}\u00a0${lengthUnit(units)}`
}

export function fromCelsius(celsius: number, units: Units): number {
  return tenth(units === 'us' ? (celsius * 9) / 5 + 32 : celsius)
}

export function toCelsius(value: number, units: Units): number {
  return units === 'us' ? Math.round((((value - 32) * 5) / 9) * 100) / 100 : value
}

export function temperatureUnit(units: Units): string {
  return units === 'us' ? '°F' : '°C'
}

export function temperature(celsius: number, units: Units): string {
  return `${fromCelsius(celsius, units)}\u00a0${temperatureUnit(units)}`
}

/** What a bin holds when full to the brim, from its inside measures in mm. */
export function capacity(
  lengthMm: number,
  widthMm: number,
  heightMm: number,
  round: boolean,
  units: Units,
): string {
  const floor = round ? (Math.PI / 4) * lengthMm * widthMm : lengthMm * widthMm
  const litres = (floor * heightMm) / 1e6
  if (units === 'metric') return `${litres < 10 ? tenth(litres) : Math.round(litres)}\u00a0L`
  const quarts = litres / ((231 * 16.387064) / 4 / 1000)
  return `${quarts < 10 ? tenth(quarts) : Math.round(quarts)}\u00a0qt`
}

function tenth(x: number): number {
  return Math.round(x * 10) / 10
}
