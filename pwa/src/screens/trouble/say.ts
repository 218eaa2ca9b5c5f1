/** What a finding says, as the catalogue has it. */
import type { Finding } from '../../types'
import { trouble as words } from '../../words/en.trouble'
import type { Setting } from '../../words/phrases'

/** The sign in a few words, without a full stop. */
export function ruleOf(finding: Finding, setting: Setting): string {
  const count = Math.max(1, Math.round(finding.count ?? 1))
  const degrees = finding.count ?? 0
  const written =
    setting.units === 'us' ? `${Math.round(degrees * 1.8)} °F` : `${Math.round(degrees * 10) / 10} °C`
  return words.rules[finding.rule]?.(count, written) ?? finding.rule
}

export const causeOf = (code: string): string => words.causes[code] ?? code
export const lookOf = (code: string): string => words.looks[code] ?? code
