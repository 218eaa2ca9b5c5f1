import { print } from './paper'

/** A sheet of label paper (backend/paper). */
export interface Stock {
  page_width_mm: number
  page_height_mm: number
  label_width_mm: number
  label_height_mm: number
  columns: number
  rows: number
  left_mm: number
  top_mm: number
  gap_x_mm: number
  gap_y_mm: number
  cut_lines: boolean
}

export interface Label {
  place: string
  name: string
  lines: string[]
  code: string
}

/** The labels as a PDF. Throws Away or Refusal. */
export const printLabels = (stock: Stock, skip: number, labels: Label[]): Promise<Blob> =>
  print('labels', { stock, skip, labels })
