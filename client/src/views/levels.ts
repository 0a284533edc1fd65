// The four levels of an alert, after the four priorities of IMO MSC.302(87) 6.1.1.
import type { AlertState } from "../wire/AlertState.ts";

/** Most urgent first. */
export const LEVELS = ["emergency", "alarm", "warning", "caution"] as const;

/** How bad it is. */
export type Level = (typeof LEVELS)[number];

/** A level this build does not know counts as an alarm: unknown is never shown as harmless. */
export function levelOf(alert: AlertState): Level {
  return LEVELS.find((level) => level === alert.level) ?? "alarm";
}

/** 0 for the most urgent. */
export function rank(level: Level): number {
  return LEVELS.indexOf(level);
}

/** The most urgent level among alerts that stand; `null`: none stands. */
export function worst(alerts: Iterable<AlertState>): Level | null {
  let found: Level | null = null;
  for (const alert of alerts) {
    if (alert.cleared !== null) continue;
    const level = levelOf(alert);
    if (found === null || rank(level) < rank(found)) found = level;
  }
  return found;
}
