// Boats as shapes for the chart and as tiles for the list.
import { spanText } from "../clock.ts";
import { fromE7, type LonLat } from "../geo.ts";
import { FIX_LOST_MS, FIX_OLD_MS, RING_FROM_M } from "../limits.ts";
import { word } from "../strings/index.ts";
import { speedText, wrap360 } from "../units.ts";
import type { AlertState } from "../wire/AlertState.ts";
import type { BoatFacts } from "../wire/BoatFacts.ts";
import type { BoatInfo } from "../wire/BoatInfo.ts";
import { fixAge, isOut, type View } from "./context.ts";
import { type Level, levelOf, rank } from "./levels.ts";

/** How old a position is, as the screen shows it. */
export type Freshness = "fresh" | "old" | "lost";

/** Freshness of a fix of this age. */
export function freshness(ageMs: number): Freshness {
  if (ageMs < FIX_OLD_MS) return "fresh";
  return ageMs < FIX_LOST_MS ? "old" : "lost";
}

/** How she is drawn: upright with her sail, lying on her side, or without a direction. */
export type Pose = "sailing" | "lying" | "no-heading" | "motor";

/** One boat on the chart. */
export interface BoatShape {
  readonly ix: number;
  readonly id: string;
  readonly at: LonLat;
  readonly pose: Pose;
  /** Degrees true; 0 when the pose is `no-heading`. */
  readonly heading: number;
  /** Angle of the boom out from the centre line; `null`: no sail is drawn, the side is not known. */
  readonly boomDeg: number | null;
  /** 1: sail to starboard, -1: to port. */
  readonly sailSide: 1 | -1;
  readonly freshness: Freshness;
  readonly level: Level | null;
  readonly own: boolean;
  readonly safety: boolean;
  readonly station: boolean;
  readonly ashore: boolean;
  /** Second line of her label: why she is marked, or how old her position is. */
  readonly note: string;
  /** Radius of the ring within which she very probably is, metres; `null`: not worth drawing. */
  readonly ringM: number | null;
}

/** Everything with a position. Positions are drawn where they were measured, never carried on. */
export function boatShapes(view: View): BoatShape[] {
  const { state, now, own, t } = view;
  const marked = worstByBoat(state.alerts.values());
  return state.setup.boats.flatMap((info) => {
    const facts = state.boats.get(info.ix);
    if (facts?.at === undefined || facts.t === undefined) return [];
    const age = Math.max(0, now - facts.t);
    // A mast stands where it stands; how old its wind is, the wind itself says.
    const fresh = info.role === "station" ? "fresh" : freshness(age);
    const alert = marked.get(info.ix);
    const level = alert === undefined ? null : levelOf(alert);
    const condition = alert === undefined ? "" : word(t.about, alert.about);
    const old = fresh === "fresh" ? "" : t.chart.lastKnown(spanText(age));
    return [
      {
        ix: info.ix,
        id: info.id,
        at: fromE7(facts.at),
        pose: poseOf(facts, info.role, alert),
        heading: facts.hdg ?? facts.cog ?? 0,
        boomDeg: boomAngle(facts),
        sailSide: facts.sail === "starboard" ? 1 : -1,
        freshness: fresh,
        level,
        own: info.ix === own,
        safety: info.role === "safety",
        station: info.role === "station",
        ashore: info.role !== "station" && !isOut(facts.standing),
        note: [condition, old].filter((words) => words !== "").join(", "),
        ringM: ringRadius(facts, fresh, level),
      } satisfies BoatShape,
    ];
  });
}

function poseOf(facts: BoatFacts, role: string, alert: AlertState | undefined): Pose {
  if (alert?.about === "capsize" || facts.doing.startsWith("capsized")) return "lying";
  if (facts.hdg === undefined && facts.cog === undefined) return "no-heading";
  return role === "dinghy" ? "sailing" : "motor";
}

/**
 * The angle at which a boom stands, from the wind's angle: in close when close-hauled, square when
 * running. Common practice, no source; a picture of the side, not a measurement.
 */
function boomAngle(facts: BoatFacts): number | null {
  if (facts.sail !== "port" && facts.sail !== "starboard") return null;
  if (facts.twa === undefined) return 35;
  return Math.min(85, Math.max(8, Math.abs(facts.twa) / 2 - 10));
}

/** Two standard deviations, where that matters: when it is large, or when somebody must find her. */
function ringRadius(facts: BoatFacts, fresh: Freshness, level: Level | null): number | null {
  if (facts.sd_m === undefined) return null;
  const matters = facts.sd_m >= RING_FROM_M || fresh !== "fresh" || level !== null;
  return matters ? 2 * facts.sd_m : null;
}

function worstByBoat(alerts: Iterable<AlertState>): Map<number, AlertState> {
  const marked = new Map<number, AlertState>();
  for (const alert of alerts) {
    if (alert.boat === null || alert.cleared !== null) continue;
    const before = marked.get(alert.boat);
    if (before === undefined || rank(levelOf(alert)) < rank(levelOf(before))) marked.set(alert.boat, alert);
  }
  return marked;
}

/** One tile of the list of boats. */
export interface BoatTile {
  readonly ix: number;
  readonly id: string;
  readonly level: Level | null;
  readonly words: string;
  readonly detail: string;
  readonly freshness: Freshness | "never";
  readonly own: boolean;
}

/** Every boat of the fleet in its order, whether tracked or not. */
export function boatTiles(view: View): BoatTile[] {
  const { state, now, own, t, units } = view;
  const marked = worstByBoat(state.alerts.values());
  return state.setup.boats.map((info) => {
    const facts = state.boats.get(info.ix);
    const age = fixAge(facts, now);
    const alert = marked.get(info.ix);
    const fresh = age === null ? "never" : freshness(age);
    return {
      ix: info.ix,
      id: info.id,
      level: alert === undefined ? null : levelOf(alert),
      words: alert === undefined ? tileWords(view, facts, info) : word(t.about, alert.about),
      detail:
        age === null
          ? t.boats.neverSeen
          : fresh === "fresh"
            ? speedText(facts?.kn, units)
            : t.misc.age(spanText(age)),
      freshness: fresh,
      own: info.ix === own,
    };
  });
}

/** A wind mast does nothing; it is named. */
function tileWords(view: View, facts: BoatFacts | undefined, info: BoatInfo): string {
  return info.role === "station" ? word(view.t.roles, info.role) : doingWords(view, facts, info.has_feed);
}

/** What she is doing, in a word. */
export function doingWords({ t }: View, facts: BoatFacts | undefined, hasFeed: boolean): string {
  if (facts === undefined) return hasFeed ? t.boats.neverSeen : t.needs.notTracked;
  if (!isOut(facts.standing)) return word(t.standing, facts.standing);
  return word(t.doing, facts.doing);
}

/** The heading a chart is turned to; `null` when it is not known and north must do. */
export function chartTurn(view: View, up: "north" | "wind" | "bow"): number | null {
  if (up === "north") return 0;
  if (up === "wind") return view.state.wind?.from_deg ?? null;
  const facts = view.own === null ? undefined : view.state.boats.get(view.own);
  const age = fixAge(facts, view.now);
  if (facts?.hdg === undefined || age === null || age >= FIX_OLD_MS) return null;
  return wrap360(facts.hdg);
}
