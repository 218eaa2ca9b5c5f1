/**
 * Passes: a sitter's way in for one trip (backend/passes). The owner's calls
 * come first, then what a sitter's phone asks and is told.
 *
 * The link of a pass is ADDRESS/#/p/SECRET. What follows the # is sent to no
 * server, so the secret is in no log; the phone sends it as a header.
 */
import type { Bin, Entry, Glance, Problem, Room } from '../types'
import { call } from './server'

const OWNERS_ROUTE = '/api/underlog/passes'
const SITTERS_ROUTE = '/api/underlog/pass'

/** A pass as its owner sees it: everything but the secret. */
export interface Pass {
  id: string
  trip: string
  sitter: string // the name
  person: string // what the sitter's entries have as `by`: the same for every pass of that name
  bins: string[] // empty: those of the trip
  photos: boolean // each bin is shown with its newest photo
  made_at: string
  from: string // what happened from then on is taken: the day of leaving
  until: string // until then: the day after coming back is the last
  seen_at: string | null // when it was last used
  revoked_at: string | null
  state: 'good' | 'over' | 'revoked'
}

/** A new pass: the only time that the secret is told. */
export interface NewPass extends Pass {
  secret: string
  link: string // empty where phones cannot reach the server
  guide: string // what a phone opens first that does not trust this home yet, empty where that is not needed
}

/** Makes a pass for a trip (owner). The pass follows the trip: its days and, where bins is empty, its bins. */
export function makePass(wish: {
  trip: string
  sitter: string
  bins?: string[]
  photos?: boolean
}): Promise<NewPass> {
  return call<NewPass>(OWNERS_ROUTE, { method: 'POST', body: { ...wish, origin: location.origin } })
}

/** The passes of a trip, or all (owner); the newest first. */
export function listPasses(trip = ''): Promise<Pass[]> {
  return call<Pass[]>(trip ? `${OWNERS_ROUTE}?trip=${encodeURIComponent(trip)}` : OWNERS_ROUTE)
}

/** Ends a pass at once, wherever it is open (owner). What the sitter did stays. */
export async function revokePass(id: string): Promise<void> {
  await call(`${OWNERS_ROUTE}/${id}`, { method: 'DELETE' })
}

/** What a sitter would be shown of a trip, for the owner to walk first. Nothing that is tapped in it is sent. */
export function rehearse(trip: string): Promise<PassView> {
  return call<PassView>(`${OWNERS_ROUTE}/rehearsal/${encodeURIComponent(trip)}`)
}

/** Everything that a sitter's phone needs for the whole trip without signal, and nothing else. */
export interface PassView {
  version: 1
  at: string // the server's clock
  epoch: string // another one than before: offer all entries again
  rehearsal: boolean
  sitter: string
  person: string // the id of whoever holds the pass, as in `by` of their entries
  time_zone: string
  units: Room['units']
  leaves: string // days of that zone
  returns: string
  from: string
  until: string
  call: string // whom to call if something is wrong, as the owner wrote it; may be empty
  /**
   * From now on, soonest first, worked out anew from what was found. What was
   * done is gone from it: the phone keeps a visit that has begun as it was.
   */
  visits: PassVisit[]
  changed?: PassChange // where it is another plan than before the last visit
  bins: PassBin[] // that the visits open, and those that the sitter was at, in walking order
  shut: { place: string; name: string }[] // bins of the trip that nobody is to open
  foods: Record<string, string> // names, by slug, of the foods that steps and drawings name
}

/** What has become of the visits since somebody was there, or since the owner left. Days are those still to come. */
export interface PassChange {
  yours: boolean // since a visit of the sitter's own
  was: string // the next visit under the plan before; empty: none
  next: string // and now
  new: string[]
  gone: string[]
  why: PassReason[]
}

export interface PassReason {
  why: 'found' | 'missed' | 'air'
  feel?: NonNullable<Entry['feel']>
  bins: string[] // of those in the view
}

export interface PassVisit {
  date: string
  from: string
  to: string
  stops: PassStop[] // in walking order
}

export interface PassStop {
  bin: string
  closed: boolean // it should be left shut, but will not last so long: open it shortly
  steps: PassStep[] // to be done one after the other
}

export type PassStep =
  /** Feel this end, and water it by what is felt; 0 mL: it is damp already, there is nothing to do. */
  | { do: 'feel'; end: Bin['damp_end']; dose_if_ml: Record<NonNullable<Entry['feel']>, number> }
  /** Look at food that was put in; take it out if it is mouldy. */
  | { do: 'leftovers'; of: string; food: string; since: string }
  | { do: 'feed'; food: string; pieces: number; side: NonNullable<Entry['side']> }
  | { do: 'add leaves'; handfuls: number }

/** What the drawing of a bin is made of (ui/BinDrawing). */
export type DrawnBin = Pick<
  Bin,
  | 'id'
  | 'name'
  | 'shape'
  | 'length_mm'
  | 'width_mm'
  | 'height_mm'
  | 'substrate_depth_mm'
  | 'damp_end'
  | 'damp_share'
  | 'openings'
  | 'lid_gap_mm'
  | 'springtails'
>
export type DrawnGlance = Pick<Glance, 'damp' | 'leaves' | 'fresh' | 'dry' | 'food'>

export interface PassBin extends DrawnBin, Pick<Bin, 'rack' | 'shelf' | 'position'> {
  place: string // the code on its label, such as W2-3
  glance: DrawnGlance
  photo: string // the name of its newest photo; empty where there is none or it is not shown
}

/** A verdict on one entry, as in the exchange; any other entry of the batch is not held up by it. */
export interface PassVerdict {
  id: string
  verdict: 'stored' | 'duplicate' | 'refused'
  problems?: Problem[]
  sentence?: string
}

export interface PassAnswer {
  protocol: 1
  epoch: string
  at: string // the server's clock
  verdicts: PassVerdict[] // an entry without one is to be offered again
  entries: Entry[] // the sitter's own on this trip as they are stored, strikes too: the last 500, oldest first
}

/**
 * Where a sitter's phone stands: Away (server.ts) is to try again later, a
 * Refusal has one of these as its status.
 */
export const PASS_UNKNOWN = 401 // no pass has this secret
export const PASS_REVOKED = 403 // its owner ended it: the phone forgets what it was shown and sends nothing more
export const PASS_OVER = 410 // the day of grace is past: nothing is shown, but entries of the trip are taken for 30 more days

const header = (secret: string) => `Pass ${secret}`

/** What to do, for the phone to keep. It may be asked for from the making of the pass on. */
export function viewPass(secret: string): Promise<PassView> {
  return call<PassView>(`${SITTERS_ROUTE}/view`, { token: header(secret) })
}

/** Offers entries: at most 500, the same bytes under the same id ever after. `by` and `device` may be left out. */
export function exchangeByPass(
  secret: string,
  request: { device: string; epoch: string; entries: Entry[] },
): Promise<PassAnswer> {
  return call<PassAnswer>(`${SITTERS_ROUTE}/exchange`, {
    method: 'POST',
    body: { protocol: 1, ...request },
    token: header(secret),
  })
}

/**
 * Photos go the way of sync/photos.ts (HEAD, PATCH, GET and ?size=small) under
 * this route. A sitter may send those that the sitter's own entries name, and
 * fetch these and the ones that the view names.
 */
export const PASS_PHOTOS_ROUTE = `${SITTERS_ROUTE}/photos`
export const passHeaders = (secret: string): Record<string, string> => ({ Authorization: header(secret) })
