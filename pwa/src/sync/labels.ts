import { db } from '../data/db'
import { Away, Refusal } from './server'

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
export async function printLabels(stock: Stock, skip: number, labels: Label[]): Promise<Blob> {
  let response: Response
  try {
    response = await fetch('/api/underlog/labels', {
      method: 'POST',
      headers: { 'Content-Type': 'application/json', Authorization: (await db.get('token')) ?? '' },
      body: JSON.stringify({ stock, skip, labels }),
      cache: 'no-store',
    })
  } catch {
    throw new Away('The server does not answer.')
  }
  if (response.ok) return response.blob()
  const { message } = ((await response.json().catch(() => null)) ?? {}) as { message?: string }
  throw new Refusal(message ?? `The server refused (${response.status}).`, response.status)
}
