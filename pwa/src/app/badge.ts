/** The number on the app's sign, where the platform has one: how many bins want something. */
import { derived } from 'svelte/store'
import { db } from '../data/db'
import { survey } from '../data/stores'
import { now } from './now'
import { wantsByBin } from './round'

export function followBadge(): void {
  if (!navigator.setAppBadge) return
  let shown: number | undefined
  derived([survey, now], ([$survey, $now]) =>
    $survey ? wantsByBin($survey, $now).size : undefined,
  ).subscribe((count) => {
    if (count === undefined || count === shown || Notification.permission !== 'granted') return
    shown = count
    void db.set({ badge: count })
    void (count > 0 ? navigator.setAppBadge(count) : navigator.clearAppBadge()).catch(() => undefined)
  })
}
