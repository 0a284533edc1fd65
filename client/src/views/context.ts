// What every view is a function of.
import type { State } from "../store.ts";
import type { Strings } from "../strings/index.ts";
import type { UnitSystem } from "../units.ts";
import type { AlertState } from "../wire/AlertState.ts";
import type { BoatFacts } from "../wire/BoatFacts.ts";
import type { BoatInfo } from "../wire/BoatInfo.ts";
import type { LogLine } from "../wire/LogLine.ts";

/** State, now, and how this tablet's person wants it said. */
export interface View {
  readonly state: State;
  /** Server time as the tablet believes it, UTC milliseconds. */
  readonly now: number;
  /** The safety boat that carries this tablet, by its place in the fleet; `null`: ashore. */
  readonly own: number | null;
  readonly t: Strings;
  readonly units: UnitSystem;
}

/** What is painted on a boat. */
export function boatId(state: State, ix: number | null): string {
  return ix === null ? "" : (state.fleet.get(ix)?.id ?? `#${ix}`);
}

/** Her id, and her name where she has one. */
export function boatTitle(info: BoatInfo | undefined, ix: number): string {
  if (info === undefined) return `#${ix}`;
  return info.name === null ? info.id : `${info.id} ${info.name}`;
}

/** First names of those in a boat, in the order of the list. */
export function namesAboard(state: State, ix: number): string[] {
  return state.day.people
    .filter((person) => person.boat === ix && person.standing !== "ashore" && person.standing !== "back")
    .map((person) => person.name);
}

/** Whose alert it is: the boat, the person of the list, or everyone's. Names are in the day's papers alone. */
export function whose(state: State, alert: AlertState | undefined, t: Strings): string {
  if (alert === undefined) return "";
  if (alert.boat !== null) return boatId(state, alert.boat);
  const { person } = alert;
  if (person === null) return t.needs.session;
  const known = person.session === state.day.session?.id;
  const listed = known ? state.day.people.find(({ id }) => id === person.id) : undefined;
  return listed?.name ?? t.needs.somebody;
}

/** How a line of the log begins that is about a person: the server knows no name there. */
const A_PERSON = "a person: ";

/** Whose a line of the log is and what it says, with the name that the tablet knows. */
export function logged(state: State, line: LogLine, t: Strings): { who: string; text: string } {
  const alert = line.alert === null ? undefined : state.alerts.get(line.alert);
  if (!line.text.startsWith(A_PERSON)) return { who: boatId(state, line.boat), text: line.text };
  const who = alert?.person ? whose(state, alert, t) : t.needs.somebody;
  return { who, text: `${who}: ${line.text.slice(A_PERSON.length)}` };
}

/** Age of her last fix in milliseconds; `null`: she never gave one. */
export function fixAge(facts: BoatFacts | undefined, now: number): number | null {
  return facts?.t === undefined ? null : Math.max(0, now - facts.t);
}

/** Whether she takes part in the watch now: out on the water as far as the tally knows. */
export function isOut(standing: string): boolean {
  return standing === "afloat" || standing === "landed";
}
