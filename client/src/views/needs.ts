// Who needs help: the engine's order, with everything that still stands behind it. Nothing is hidden.

import { shortClock, spanText } from "../clock.ts";
import { FIX_OLD_MS } from "../limits.ts";
import { word } from "../strings/index.ts";
import { bearingText, clockHour, distanceText, etaText } from "../units.ts";
import type { AlertState } from "../wire/AlertState.ts";
import type { Need } from "../wire/Need.ts";
import type { Way } from "../wire/Way.ts";
import { boatId, fixAge, isOut, namesAboard, type View, whose } from "./context.ts";
import { type Level, levelOf, rank } from "./levels.ts";
import { tenths } from "./tenths.ts";

/** Where she is from a safety boat. */
export interface WayThere {
  /** "from us", or "from S2" when our own way is not known. */
  readonly from: string;
  readonly bearing: string;
  /** Hour by our own bow; `null` without an own heading. */
  readonly hour: number | null;
  readonly distance: string;
  readonly time: string;
}

/** One card of the need list. */
export interface NeedCard {
  readonly alert: number;
  readonly boat: number | null;
  /** About a person of the list: `id` is a name. */
  readonly isPerson: boolean;
  readonly id: string;
  readonly level: Level;
  readonly what: string;
  readonly since: string;
  readonly persons: string;
  readonly names: string;
  readonly why: string;
  readonly evidence: readonly string[];
  /** "8 in 10 likely"; empty for facts. */
  readonly likely: string;
  readonly way: WayThere | null;
  /** Age of her position when it is old, or that there is none; empty when it is fresh. */
  readonly positionNote: string;
  /** `sent`: somebody else says that we go, and nobody here has said so yet. */
  readonly going: "nobody" | "us" | "sent" | "other";
  readonly goingWords: string;
  readonly acknowledgedBy: string | null;
  readonly silenced: boolean;
  readonly headsMissing: number;
  readonly recorded: boolean;
}

/** Standing alerts: those in the engine's order first, then the rest by level and age. */
export function needCards(view: View): NeedCard[] {
  const { state } = view;
  const ordered = state.needs.flatMap((need) => {
    const alert = state.alerts.get(need.alert);
    return alert !== undefined && alert.cleared === null ? [card(view, alert, need)] : [];
  });
  const listed = new Set(state.needs.map((need) => need.alert));
  const rest = [...state.alerts.values()]
    .filter((alert) => alert.cleared === null && !listed.has(alert.id))
    .sort((a, b) => rank(levelOf(a)) - rank(levelOf(b)) || a.raised_ms - b.raised_ms)
    .map((alert) => card(view, alert, null));
  return [...ordered, ...rest];
}

/** Alerts that ended before anybody had seen them: kept in sight until somebody has. */
export function overUnseen(view: View): NeedCard[] {
  return [...view.state.alerts.values()]
    .filter((alert) => alert.cleared !== null && alert.acknowledged === null)
    .sort((a, b) => b.changed_ms - a.changed_ms)
    .map((alert) => card(view, alert, null));
}

function card(view: View, alert: AlertState, need: Need | null): NeedCard {
  const { state, now, t } = view;
  const persons = need?.persons ?? (alert.boat === null ? 0 : (state.boats.get(alert.boat)?.persons ?? 0));
  const missing = alert.heads === null ? 0 : Math.max(0, persons - alert.heads);
  return {
    alert: alert.id,
    boat: alert.boat,
    isPerson: alert.person !== null,
    id: whose(state, alert, t),
    level: levelOf(alert),
    what: word(t.about, alert.about),
    since: sinceWords(view, alert),
    persons: alert.boat === null ? "" : t.needs.persons(persons),
    names: alert.boat === null ? "" : namesAboard(state, alert.boat).join(", "),
    why: need?.why ?? "",
    evidence: alert.evidence,
    likely: alert.confidence === null ? "" : t.needs.likely(tenths(alert.confidence)),
    way: need === null ? null : wayThere(view, need.ways),
    positionNote: alert.boat === null ? "" : positionNote(view, alert.boat),
    ...goingOf(view, alert),
    acknowledgedBy: alert.acknowledged?.by ?? null,
    silenced: alert.silenced !== null && alert.silenced.at_ms > now,
    headsMissing: missing,
    recorded: alert.recorded,
  };
}

/** How long it has stood; of a person who is overdue also since what time of day. */
function sinceWords({ now, t }: View, alert: AlertState): string {
  const span = t.needs.since(spanText((alert.cleared?.at_ms ?? now) - alert.began_ms));
  return alert.person === null ? span : `${span}, ${t.needs.expectedAt(shortClock(alert.began_ms))}`;
}

/** Who goes, and who said so: a boat that was sent may not know it yet. */
export function goingOf(
  { state, own, t }: View,
  { attended }: AlertState,
): Pick<NeedCard, "going" | "goingWords"> {
  if (attended === null) return { going: "nobody", goingWords: t.needs.unattended };
  const { boat, by } = attended;
  if (boat !== own) return { going: "other", goingWords: t.needs.attended(boatId(state, boat), by) };
  if (by === state.you.name) return { going: "us", goingWords: t.needs.attendedByUs };
  return { going: "sent", goingWords: t.needs.sentUs(by) };
}

/** Our own way if we are tracked, else the quickest boat's, which the words then name. */
export function wayThere(view: View, ways: readonly Way[]): WayThere | null {
  const { state, own, t, units } = view;
  const ours = ways.find((way) => way.safety === own);
  const way = ours ?? ways[0];
  if (way === undefined) return null;
  const heading = ours === undefined ? undefined : headingOf(view, way.safety);
  return {
    from: ours === undefined ? t.needs.from(boatId(state, way.safety)) : t.needs.fromUs,
    bearing: bearingText(way.bearing_deg),
    hour: heading === undefined ? null : clockHour(way.bearing_deg, heading),
    distance: distanceText(way.distance_m, units),
    time: etaText(way.time_s),
  };
}

/** The heading of our own bow, while it is fresh enough to point with. */
export function headingOf(view: View, ix: number): number | undefined {
  const facts = view.state.boats.get(ix);
  const age = fixAge(facts, view.now);
  return age !== null && age < FIX_OLD_MS ? facts?.hdg : undefined;
}

function positionNote({ state, now, t }: View, ix: number): string {
  const age = fixAge(state.boats.get(ix), now);
  if (age === null) return t.needs.noPosition;
  return age < FIX_OLD_MS ? "" : t.needs.positionOld(spanText(age));
}

/** A boat that is out and that dunlin cannot see. */
export interface Unseen {
  readonly ix: number;
  readonly id: string;
  readonly words: string;
}

/** Boats out without a usable position: never to be taken for fine. */
export function unseenBoats({ state, now, t }: View): Unseen[] {
  return state.setup.boats.flatMap((info) => {
    const facts = state.boats.get(info.ix);
    if (info.role === "station" || (facts !== undefined && !isOut(facts.standing))) return [];
    const age = fixAge(facts, now);
    if (!info.has_feed || age === null) return [{ ix: info.ix, id: info.id, words: t.needs.notTracked }];
    if (age < FIX_OLD_MS) return [];
    return [{ ix: info.ix, id: info.id, words: t.needs.silent(spanText(age)) }];
  });
}

/** Dinghies out whose position is fresh: the only ones that the watch can judge. */
export function judgedCount({ state, now }: View): number {
  return state.setup.boats.filter((info) => {
    const facts = state.boats.get(info.ix);
    const age = fixAge(facts, now);
    return (
      info.role === "dinghy" &&
      facts !== undefined &&
      isOut(facts.standing) &&
      age !== null &&
      age < FIX_OLD_MS
    );
  }).length;
}
