// Which alert is to be heard now. Pure; the sound itself is in sound.svelte.ts.
import { type Level, levelOf, rank } from "../views/levels.ts";
import type { AlertState } from "../wire/AlertState.ts";
import { PATTERNS } from "./patterns.ts";

/** An alert that nobody has acknowledged and nobody has silenced for the moment. */
export function sounds(alert: AlertState, now: number): boolean {
  if (alert.cleared !== null || alert.acknowledged !== null) return false;
  return alert.silenced === null || alert.silenced.at_ms <= now;
}

/** All that are to be heard. */
export function sounding(alerts: Iterable<AlertState>, now: number): AlertState[] {
  return [...alerts].filter((alert) => sounds(alert, now));
}

/** The most urgent alert that is to be heard, the oldest of equals; `null`: quiet. */
export function loudest(alerts: Iterable<AlertState>, now: number): AlertState | null {
  let found: AlertState | null = null;
  for (const alert of alerts) {
    if (!sounds(alert, now)) continue;
    if (found === null || before(alert, found)) found = alert;
  }
  return found;
}

function before(a: AlertState, b: AlertState): boolean {
  const byLevel = rank(levelOf(a)) - rank(levelOf(b));
  return byLevel < 0 || (byLevel === 0 && a.raised_ms < b.raised_ms);
}

/** What was sounded last. */
export interface Sounded {
  readonly level: Level;
  readonly atMs: number;
  /** The alert it was for; `null`: the link. */
  readonly alert: number | null;
}

/** Whether a burst of this level is due: at once when it is new or worse, else at its interval. */
export function isDue(level: Level, alert: number | null, last: Sounded | null, steadyMs: number): boolean {
  if (last === null || rank(level) < rank(last.level)) return true;
  const { everyS } = PATTERNS[level];
  if (everyS === null) return last.alert !== alert || last.level !== level;
  const gap = steadyMs - last.atMs;
  // Another alert does not wait for the old one's interval, but lets its burst finish.
  return gap >= everyS * 1000 || (last.alert !== alert && gap >= 2_500);
}
