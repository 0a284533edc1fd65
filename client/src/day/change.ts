// A change to the day's papers, asked of the server like every other action.
import { app } from "../app.svelte.ts";
import type { DayChange } from "../wire/DayChange.ts";

/** Asks for it. */
export function change(what: DayChange): void {
  app.ask({ kind: "day", change: what });
}

/** Lines of a text that hold anything. */
export function linesOf(text: string): string[] {
  return text
    .split("\n")
    .map((line) => line.trim())
    .filter((line) => line !== "");
}

/** A time further back than this is tomorrow's: a session of the evening may end after midnight. */
const PAST_MS = 8 * 3_600_000;

/**
 * The moment of `HH:MM` in the tablet's time zone, UTC milliseconds: the one from eight hours before
 * `now` to sixteen after it. `before` is what was saved; it stays while its time of day is not changed.
 * `null` for anything that is no time.
 */
export function timeNear(text: string, now: number, before: number | null): number | null {
  const match = /^(\d{1,2}):(\d{2})$/.exec(text.trim());
  if (match === null) return null;
  const [hours, minutes] = [Number(match[1]), Number(match[2])];
  if (hours > 23 || minutes > 59) return null;
  if (before !== null) {
    const was = new Date(before);
    if (was.getHours() === hours && was.getMinutes() === minutes) return before;
  }
  // The day is stepped by its date, since one on which clocks are changed is not 24 hours long.
  const on = (days: number): number => {
    const date = new Date(now);
    date.setDate(date.getDate() + days);
    return date.setHours(hours, minutes, 0, 0);
  };
  const near = [-1, 0, 1].map(on).find((at) => at > now - PAST_MS);
  return near ?? on(1);
}
