// What this tablet asked for and what became of it. Pure: the socket sends, this remembers.
import { ACTIONS_MAX } from "./limits.ts";
import type { Action } from "./wire/Action.ts";
import type { Outcome } from "./wire/Outcome.ts";

/**
 * waiting --outcome--> done (undoable while the server says so) | refused (with its reason)
 *    \-----link lost--> unknown: it may or may not have been done; the next snapshot shows which
 */
export type Fate =
  | { readonly is: "waiting" }
  | { readonly is: "done"; readonly undo: number | null }
  | { readonly is: "refused"; readonly reason: string }
  | { readonly is: "unknown" };

/** One thing a person pressed. */
export interface Asked {
  readonly request: number;
  readonly action: Action;
  /** When pressed, on the tablet's steady clock. */
  readonly atMs: number;
  readonly fate: Fate;
}

/** Newest last, bounded: settled ones go first. */
export type AskedList = readonly Asked[];

/** Whether one more may be asked. */
export function hasRoom(list: AskedList): boolean {
  return list.filter((asked) => asked.fate.is === "waiting").length < ACTIONS_MAX;
}

/** The list with one more waiting. */
export function asking(list: AskedList, request: number, action: Action, atMs: number): AskedList {
  const kept = list.slice(Math.max(0, list.length + 1 - 2 * ACTIONS_MAX));
  return [...kept, { request, action, atMs, fate: { is: "waiting" } }];
}

/** The list after the server's answer; an answer to nothing we asked changes nothing. */
export function answered(list: AskedList, outcome: Outcome): AskedList {
  const fate: Fate =
    outcome.refused === null
      ? { is: "done", undo: outcome.undo }
      : { is: "refused", reason: outcome.refused };
  return list.map((asked) => (asked.request === outcome.request ? { ...asked, fate } : asked));
}

/** The list after the link was lost. */
export function linkLost(list: AskedList): AskedList {
  return list.map((asked) => (asked.fate.is === "waiting" ? { ...asked, fate: { is: "unknown" } } : asked));
}

/** The list without one entry: a person has read it. */
export function dismissed(list: AskedList, request: number): AskedList {
  return list.filter((asked) => asked.request !== request);
}

/** Whether an action about this alert is on its way. */
export function waitingFor(list: AskedList, alert: number): Asked | null {
  return (
    list.findLast(
      ({ action, fate }) => fate.is === "waiting" && "alert" in action && action.alert === alert,
    ) ?? null
  );
}
