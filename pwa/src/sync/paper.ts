import { db } from '../data/db'
import { Away, Refusal } from './server'
import { line as words } from '../words/en.line'

/** A bin from the side, as layers of paths (backend/paper). */
export interface PaperDrawing {
  top: number
  width: number
  height: number
  layers: { path: string; fill?: number; line?: number; within?: string[] }[]
  left: string
  right: string
}

export interface PaperNote {
  title: string
  lines: string[]
}

/** The sheet for whoever looks after the bins (backend/paper). */
export interface VisitSheet {
  paper: 'a4' | 'letter'
  title: string
  span: string
  page: string
  call: PaperNote
  notes: PaperNote[]
  map: {
    title: string
    says: string
    racks: { name: string; shelves: { name: string; bins: number[] }[] }[]
  }
  visits: {
    title: string
    none: string
    days: { title: string; stops: { number: number; title: string; do: string; found: string[] }[] }[]
  }
  bins: {
    title: string
    dont: string
    each: {
      number: number
      title: string
      where: string
      drawing: PaperDrawing
      do: string[]
      dont: string[]
    }[]
  }
  code: string
  scan: string
}

/** The sheet as a PDF. Throws Away or Refusal. */
export const printVisits = (sheet: VisitSheet): Promise<Blob> => print('visit-sheet', sheet)

const LONGEST_MS = 60_000 // a room of hundreds of bins, on a small server

/** A PDF that the server sets from what this device says. Throws Away or Refusal. */
export async function print(what: 'labels' | 'visit-sheet', wish: object): Promise<Blob> {
  let response: Response
  try {
    response = await fetch(`/api/underlog/${what}`, {
      method: 'POST',
      headers: { 'Content-Type': 'application/json', Authorization: (await db.get('token')) ?? '' },
      body: JSON.stringify(wish),
      cache: 'no-store',
      signal: AbortSignal.timeout(LONGEST_MS),
    })
  } catch {
    throw new Away(words.away)
  }
  if (response.ok) return response.blob()
  const { message } = ((await response.json().catch(() => null)) ?? {}) as { message?: string }
  if (response.status === 429) throw new Refusal(words.tooMany, 429)
  throw new Refusal(message ?? words.refused(response.status), response.status)
}
