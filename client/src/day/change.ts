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

/** Today's moment of `HH:MM` in the tablet's time zone, UTC milliseconds; `null` for anything else. */
export function timeToday(text: string, now: number): number | null {
  const match = /^(\d{1,2}):(\d{2})$/.exec(text.trim());
  if (match === null) return null;
  const [hours, minutes] = [Number(match[1]), Number(match[2])];
  if (hours > 23 || minutes > 59) return null;
  return new Date(now).setHours(hours, minutes, 0, 0);
}
