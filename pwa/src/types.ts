/**
 * The nouns of the app. Records have the names and units that they have in the
 * book, in the exchange and on the server (package internal/husbandry): units
 * are in the names, times are RFC 3339, days are 2006-01-02.
 */

export type What =
  | 'feel'
  | 'water'
  | 'feed'
  | 'leftovers'
  | 'leaves'
  | 'add leaves'
  | 'substrate'
  | 'renew'
  | 'young'
  | 'seen'
  | 'add wood'
  | 'escape'
  | 'climate'
  | 'look'
  | 'note'
  | 'photo'
  | 'larder'
  | 'strike'

/** What may be seen in a bin beside young. */
export type Sighting =
  | 'gravid'
  | 'moult'
  | 'odd one'
  | 'springtails plenty'
  | 'springtails few'
  | 'springtails gone'
  | 'mites'
  | 'mould'
  | 'dead'
  | 'escaped'

/** Something that happened. It is never changed; a strike can void it. */
export interface Entry {
  id: string
  bin?: string
  at: string
  what: What
  by?: string
  device?: string
  feel?: 'dry' | 'barely' | 'damp' | 'soaked'
  water_ml?: number
  food?: string
  pieces?: number
  side?: 'damp' | 'dry'
  cooked?: boolean
  of?: string
  left?: 'all gone' | 'some left' | 'untouched'
  mould?: 'none' | 'specks' | 'furry'
  removed?: boolean
  leaves?: 'bare' | 'thin' | 'plenty'
  handfuls?: number
  batch?: string
  substrate?: 'fresh' | 'mixed' | 'mostly frass'
  mix?: string
  item?: string
  found?: 'nearly out' | 'low' | 'enough'
  used?: number
  added?: number
  temperature_c?: number
  humidity_pct?: number
  seen?: Sighting
  count?: number
  place?: string
  rim?: 'clear' | 'ramp'
  mesh?: 'whole' | 'torn' | 'missing'
  lid?: 'shut' | 'ajar'
  struck?: string
  photo?: string
  note?: string
}

/** What a screen gives to log(): id, time, person and device are added. */
export type EntryDraft = Omit<Entry, 'id' | 'at' | 'by' | 'device'> & { at?: string }

/** An entry as a list shows it. */
export interface LoggedEntry extends Entry {
  void: boolean // struck
  state: 'sent' | 'waiting' | 'refused'
}

export type Stamp = string

export interface Stamped {
  v: unknown
  s: Stamp
}

export type SheetSort =
  'bins' | 'foods' | 'kinds' | 'rooms' | 'trips' | 'batches' | 'mixes' | 'stock' | 'supplies'

/** Something that is, as stamped fields; a partial one carries an edit. */
export interface Sheet {
  sheet: SheetSort
  id: string
  fields: Record<string, Stamped>
}

export interface Opening {
  where: 'lid' | 'side'
  shape: 'rectangle' | 'round'
  length_mm?: number
  width_mm?: number
  diameter_mm?: number
  count?: number
  mesh_open_share?: number
}

export interface Bin {
  id: string
  name: string
  rack: string
  shelf: number
  position: number
  kind: string
  line?: string
  shape?: 'box' | 'round'
  length_mm: number
  width_mm: number
  height_mm: number
  substrate_depth_mm: number
  damp_end: 'left' | 'right' | 'front' | 'back'
  damp_share: number
  openings: Opening[]
  lid_gap_mm: number
  wall_mm: number
  springtails: boolean
  started?: string
  substrate_renewed?: string
  renew_months?: number
  renew_on?: string
  renew_moved?: boolean
  meals_per_week?: number
  note?: string
  deleted?: boolean
}

export interface Kind {
  id: string
  slug: string
  name: string
  animal?: 'isopod' | 'springtail'
  moisture: 'wet' | 'humid' | 'moderate' | 'arid'
  air?: 'closed' | 'little' | 'moderate' | 'much'
  temperature_min_c: number
  temperature_max_c: number
  brood_min?: number
  brood_max?: number
  brood_days_min?: number
  brood_days_max?: number
  maturity_min_months?: number
  maturity_max_months?: number
  appetite: number
  climbs: boolean
  guards?: boolean
  moisture_source?: string
  air_source?: string
  temperature_source?: string
  brood_source?: string
  brood_days_source?: string
  maturity_source?: string
  appetite_source?: string
  climbs_source?: string
  guards_source?: string
  source: string
  deleted?: boolean
}

export interface Food {
  id: string
  slug: string
  name: string
  class: 'fruit' | 'vegetable' | 'root' | 'grain' | 'protein' | 'mineral' | 'staple'
  stays: boolean
  caution?: string
  perishable?: boolean
  serving?: 'piece' | 'pinch' | 'spoon'
  serving_g?: number
  off_menu?: boolean
  deleted?: boolean
}

/** Leaves that were gathered together; entries and mixes name it by its slug. */
export interface Batch {
  id: string
  slug: string
  name: string
  tree?: string
  place?: string
  gathered?: string
  sprayed?: 'no' | 'unknown' | 'yes'
  heated_c?: number
  heated_minutes?: number
  amount?: number
  unit?: 'handfuls' | 'litres'
  started?: string
  finished?: string
  note?: string
  deleted?: boolean
}

/** Substrate that was mixed together, and its recipe; renewals name it by its slug. */
export interface Mix {
  id: string
  slug: string
  name: string
  parts: Part[]
  mixed?: string
  litres?: number
  finished?: string
  note?: string
  deleted?: boolean
}

export interface Part {
  ingredient: string
  share: number // parts by volume
  batch?: string
}

/** Food in the larder. */
export interface Stock {
  id: string
  food: string
  amount?: number
  unit?: 'pieces' | 'grams'
  kept?: 'shelf' | 'fridge' | 'freezer'
  got?: string
  use_by?: string
  finished?: string
  note?: string
  deleted?: boolean
}

/** Anything else that is kept and runs out. */
export interface Supply {
  id: string
  name: string
  class: 'springtails' | 'calcium' | 'leaves' | 'wood and moss' | 'substrate' | 'bins' | 'labels' | 'other'
  amount?: number
  unit?: 'pieces' | 'cultures' | 'handfuls' | 'litres' | 'grams'
  lasts_days?: number
  got?: string
  finished?: string
  note?: string
  deleted?: boolean
}

/** What is left of everything that is kept (larder.Larder). */
export interface Larder {
  batches: Held[]
  mixes: Held[]
  stock: Held[]
  supplies: Held[]
  leaves_per_day: number // handfuls
  substrate_per_day: number // litres
}

/** One thing of the larder; amounts are in its own unit. */
export interface Held {
  id: string
  known: boolean // an amount is: else only the share is told
  left: Level
  share: Level
  per_day: number
  uses: number
  used: number
  last_used: string | null
  turn: number // 0 is used next of its sort, -1 is finished
  runs_out: { from: string; about: string; to: string | null } | null
  soon: boolean
  doubts: Doubt[] | null
  past: boolean // its day has gone by
}

export type Doubt =
  'sprayed' | 'spray unknown' | 'tree unknown' | 'place unknown' | 'not heated' | 'heated too little'

export interface Room {
  id: string
  name: string
  time_zone: string
  units: 'us' | 'metric'
  hemisphere: 'north' | 'south'
  temperature_c: number
  humidity_summer_pct: number
  humidity_winter_pct: number
  look_in_days: number
  meals_per_week: number
  calcium_weeks: number
  example: boolean
}

export interface Person {
  id: string
  name: string
  role: 'owner' | 'helper' | 'sitter' // who has or had a pass, and no account
}

export type ChoreSort = 'feel' | 'leftovers' | 'feed' | 'leaves' | 'renew' | 'look' | 'set_up' | 'escape'

export interface OddsPoint {
  at: string
  dry?: number
  risk?: number
  gone?: number
  mouldy?: number
}

/** Why a bin will want something: a code and what belongs to it (husbandry.Why). The words are the catalogue's. */
export interface Why {
  code:
    | 'never felt'
    | 'dry'
    | 'lies'
    | 'mould left'
    | 'never fed'
    | 'fed'
    | 'leaves'
    | 'no leaves'
    | 'age'
    | 'frass'
    | 'planned'
    | 'never opened'
    | 'unopened'
    | 'trip'
    | 'escaped'
    | 'way out'
    | 'ramp'
    | 'unchecked'
  at?: string
  odds?: number
  months?: number
  word?: string
  food?: string
}

/** Something that a bin will want, with its window: opens <= due <= closes. */
export interface Chore {
  bin: string
  chore: ChoreSort
  of?: string // the feeding, for leftovers
  food?: string
  opens: string
  due: string
  closes: string
  dose_ml?: number
  handfuls?: number
  handfuls_if?: Record<string, number>
  odds: number
  why?: Why
  forecast?: OddsPoint[]
  pick?: Pick
}

/** Why a food was chosen (package rota). The words are the catalogue's. */
export type PickWhy =
  'by hand' | 'protein' | 'plants' | 'variety' | 'use first' | 'keeps' | 'liked' | 'same board' | 'in turn'

/** What a bin is to be fed next, and why, the strongest reason first (husbandry.Pick). */
export interface Pick {
  food?: string // none: nothing that is at hand fits
  calcium?: string
  pieces?: number
  why?: PickWhy[]
  days?: number // since it last had this food
  share?: number // of its meals that should be protein
  use_by?: string
  mouldy?: number // at its next look
  looks_at?: string
}

/** A feeding of several bins as a keeper wants it (chores.FeedingOrder). */
export interface FeedingOrder {
  bins: string[] // none: every bin that is due
  foods: string[] // none: what is taken to be at hand
  hand: Record<string, string>
  out: string[]
  anyway: string[]
}

export type PickBan = 'last meal' | 'would mould' | 'past use-by' | 'none left'

export interface FeedingBin {
  bin: string
  state: 'feed' | 'look first' | 'early' | 'out' | 'nothing'
  pick?: Pick
  due?: string
  lying?: Lying[]
  bans: { food: string; why: PickBan }[]
  share: number
  low: number
  high: number
  looks: number
  limed: string | null
}

/** The plan for it (chores.Feeding). */
export interface Feeding {
  at: string
  bins: FeedingBin[]
  foods: { food: string; at_hand: boolean; use_by?: string; pieces: number }[]
  board: { food: string; pieces: number; bins: number }[]
  looked: number
}

export interface Pace {
  soon: number
  middle: number
  late: number
}

/** How fast a food moulds: as believed of any room, and as this one has taught (chores.FoodPace). */
export interface FoodPace {
  food: string
  never: boolean
  believed: Pace
  taught: Pace
  looks: number
  mouldy: number
  eaten: number
}

export interface Level {
  mean: number
  low: number
  high: number
}

export interface Lying {
  of: string
  food: string
  since: string
  pieces: number
  gone: number
  mouldy: number
}

/** The state of a bin now. damp 1 = freshly watered, leaves 1 = plenty, fresh 1 = new substrate. */
export interface Glance {
  bin: string
  damp: Level
  leaves: Level
  fresh: Level
  dry: number
  risk: number
  food: Lying[] | null
  last_watered: string | null
  last_water_ml: number
  last_opened: string | null
  renewed: string
}

export interface Survey {
  at: string
  chores: Chore[]
  glances: Glance[]
}

export interface FanPoint {
  at: string
  p05: number
  p25: number
  p50: number
  p75: number
  p95: number
  dry: number
  risk: number
}

export interface Mark {
  at: string
  what: What
  word: string
  amount: number
  by: string
}

export interface Outlook {
  glance: Glance
  chores: Chore[]
  fan: FanPoint[]
  marks: Mark[]
}

/** What is wrong with one field: its value and what would be accepted. */
export interface Problem {
  field: string
  value: string
  accepted: string
}

export type FieldType =
  | 'text'
  | 'number'
  | 'whole'
  | 'truth'
  | 'word'
  | 'time'
  | 'day'
  | 'ref'
  | 'date'
  | 'digest'
  | 'list'
  | 'clock'
  | 'week'

/** The rule for one field of a record. */
export interface Field {
  name: string
  type: FieldType
  min: number
  max: number
  unit?: string
  words?: string[]
  required?: boolean
}

/** Every rule and every default, from husbandry.AllLimits. */
export interface Limits {
  entries: Record<What, Field[]>
  sheets: Record<SheetSort, Field[]>
  opening: Field[]
  part: Field[]
  tub: Bin // a new bin's defaults: a common tub
  room: Room
  trip: Omit<Trip, 'id' | 'name' | 'leaves' | 'returns'>
  photos: PhotoBounds
  alert_fields: Field[]
  alerts: AlertSettings // of a new device
}

/** The measures of photos (husbandry.PhotoBounds). */
export interface PhotoBounds {
  most_original_bytes: number
  long_edge_px: number
  most_bytes: number
  small_edge_px: number
  chunk_bytes: number
  quota_bytes: number
  cache_bytes: number
}

export type AlertSort = 'wrong' | 'leftovers' | 'dampness' | 'digest'

/** What one device is told, and when (husbandry.AlertSettings). */
export interface AlertSettings {
  wrong: 'on' | 'off' // what a sitter finds wrong; for owners
  leftovers: 'alone' | 'digest' | 'off'
  dampness: 'alone' | 'digest' | 'off'
  digest: 'on' | 'off'
  quiet_from: string
  quiet_to: string
  digest_at: string // empty: before the usual round
  digest_days: string // empty: on the days of the usual round
  weekly_cap: number
}

/** A record that the server would not take, set aside with its reason. */
export interface Refused {
  position: number
  sort: 'entry' | 'sheet'
  record: Entry | Sheet
  problems: Problem[]
  sentence: string
  since: string
}

/** How this device stands with its server. */
export interface OutboxState {
  online: 'online' | 'no-signal' | 'server-away' | 'signed-out'
  sending: boolean
  waiting: number
  oldestUnsentAt: string | null
  lastSentAt: string | null // when the server last answered an exchange
  refused: Refused[]
  /** A new version of the app is ready and waits for the person's word. */
  updateReady: boolean
  /** The server speaks a newer protocol: update; what is unsent is kept. */
  updateNeeded: string | null
  /** Minutes by which this device's clock is behind the server's; 0 if it is within two minutes. */
  clockBehindMinutes: number
}

export interface Session {
  signedIn: boolean
  person: Person | null
  device: string
}

/** A time that the owner is away (husbandry.Trip). Days are of the household's zone. */
export interface Trip {
  id: string
  name: string
  leaves: string
  returns: string
  days?: string[]
  from_hour: number
  to_hour: number
  sitter?: string
  call?: string
  bins?: string[]
  closed?: string[]
  note?: string
  deleted?: boolean
}

export type Verdict = 'lasts' | 'lasts if set up' | 'needs visits'

/** What to do to a bin the day before leaving. */
export interface AwaySetUp {
  dose_ml?: number
  dose_if_ml?: Record<string, number>
  handfuls?: number
  take_out?: { of: string; food: string; since: string; pieces: number; mouldy: number }[]
  renew?: AwayRenewal
}

/** A renewal that would fall into a trip, and the week in which the levelling has it instead. */
export interface AwayRenewal {
  was: string
  week: string // its Monday
  before: boolean // that is before leaving; else after coming back
}

/** One bin of a trip; odds of harm by the end of each day. */
export interface AwayBin {
  bin: string
  verdict: Verdict
  visits: number
  late: boolean
  closed: boolean
  untouched: number[]
  ready?: number[]
  planned: number[]
  served: number[]
  set_up?: AwaySetUp
  cases: number[]
}

export interface AwayStop {
  bin: string
  end: Bin['damp_end']
  dose_ml: number
  dose_if_ml: Record<string, number>
  food: string
  handfuls?: number // of leaves to add
  closed: boolean
  harm: number
}

export interface AwayVisit {
  day: number
  date: string
  from: string
  to: string
  stops: AwayStop[]
}

/** One way to weigh visits against risk: bins that are expected to come to harm. */
export interface AwayTrade {
  visits: number
  lids: number
  harmed: number
  worst: number
  tolerance: number
}

export interface AwayCase {
  name: 'heating fails' | 'heat wave'
  celsius: number
  harmed: number
  unfit: string[]
}

/** A day of a trip on which somebody opened bins of it. */
export interface AwayDone {
  date: string
  by: string[]
  bins: string[]
}

/** A word felt since leaving that was unlikely when it was felt. */
export interface AwayOdd {
  bin: string
  entry: string
  at: string
  by: string
  feel: NonNullable<Entry['feel']>
  chance: number
}

/** A bin that is to be opened on other days than before. */
export interface AwayBinChange {
  bin: string
  was: string[]
  now: string[]
  why: 'found' | 'missed' | 'air'
  feel?: NonNullable<Entry['feel']>
  at?: string
}

/** What the last visit made of the plan (chores.AwayChange). */
export interface AwayChange {
  since: string
  from: string // the day from which on the two plans are compared
  visits: number
  harmed: number
  bins: AwayBinChange[]
  days: { date: string; new: boolean }[]
}

/** Food in the larder that would not last until the return. */
export interface AwayUseUp {
  item: string
  food: string
  use_by?: string // none: the food does not keep
  past?: boolean // that day is over already
}

/** What a trip comes to (chores.Away). */
export interface Away {
  stage: 'before' | 'away' | 'back'
  set_up_at: string
  days: string[]
  bins: AwayBin[]
  visits: AwayVisit[]
  nobody: AwayTrade
  plan: AwayTrade
  trades: AwayTrade[]
  cases: AwayCase[]
  foods: Record<'springtails' | 'none', { slug: string; mouldy: number }>
  use_up: AwayUseUp[] // the first day first
  done: AwayDone[]
  odd: AwayOdd[]
  changed?: AwayChange
}

/** One renewal in the calendar (package internal/renewal). */
export interface RenewalBlock {
  bin: string
  nth: number // 0 is the bin's next
  week: number
  goal: string
  off: number // weeks later than its goal; below 0 earlier
  moved: boolean // a hand put it there
  change: boolean // the kept plan has it in another week
}

/** The coming year of renewals. */
export interface RenewalCalendar {
  weeks: string[] // their Mondays
  away: boolean[] // weeks that have a day to be kept free
  blocks: RenewalBlock[]
  fullest: number
}

/** One rule that speaks for trouble in a bin (package internal/trouble). Rule, causes and looks are codes. */
export interface Finding {
  rule: string
  weight: 'soon' | 'watch'
  since: string
  last: string
  count?: number
  entries: string[]
  causes: { cause: string; odds: 'rarely' | 'sometimes' | 'often' }[]
  looks: string[]
}

export interface Troubled {
  bin: string
  findings: Finding[]
}

/** How a trip went (engine.TripReport). */
export interface TripReport {
  bins: {
    bin: string
    opened: number
    water_ml: number
    found: Entry['feel'] | ''
    found_at?: string
    dry: number
    called: boolean // whether dry was told of what was then felt
  }[]
  score: { n: number; brier: number | null; enough: number; sentence: string }
}
