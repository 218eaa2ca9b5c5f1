/** What stands on the labels of bins, and on what paper they are printed. */
import type { Label, Stock } from '../sync/labels'
import type { Bin } from '../types'
import { labels as words } from '../words/en.labels'
import { place } from '../words/phrases'
import { writtenDay } from '../words/when'
import { codeOf } from './scan'

/** Plain paper that is cut along the lines; common sizes of paper, measures of our own. */
export const PLAIN: Record<'a4' | 'letter', Stock> = {
  a4: {
    page_width_mm: 210,
    page_height_mm: 297,
    label_width_mm: 63,
    label_height_mm: 38,
    columns: 3,
    rows: 7,
    left_mm: 10.5,
    top_mm: 15.5,
    gap_x_mm: 0,
    gap_y_mm: 0,
    cut_lines: true,
  },
  letter: {
    page_width_mm: 215.9,
    page_height_mm: 279.4,
    label_width_mm: 63.5,
    label_height_mm: 38.1,
    columns: 3,
    rows: 6,
    left_mm: 12.7,
    top_mm: 25.4,
    gap_x_mm: 0,
    gap_y_mm: 0,
    cut_lines: true,
  },
}

export interface Dates {
  renewed: string // days, or empty
  renewBy: string
}

/** The label of one bin: the more important lines first, since a small label drops the last. */
export function labelOf(bin: Bin, dates: Dates, origin: string, locale?: string): Label {
  const day = (value: string) => writtenDay(value, locale)
  return {
    place: place(bin),
    name: bin.name,
    lines: [
      dates.renewed ? words.renewed(day(dates.renewed)) : '',
      dates.renewBy ? words.renewBy(day(dates.renewBy)) : '',
      bin.line ?? '',
      bin.started ? words.started(day(bin.started)) : '',
    ].filter((line) => line !== ''),
    code: codeOf(bin.id, origin),
  }
}
