// A rescue in progress: how long, whose heads, which way, and what was done.
import { shortClock, stopwatch } from "../clock.ts";
import { distanceM } from "../geo.ts";
import { WATER_BREAKS_MIN } from "../limits.ts";
import { word } from "../strings/index.ts";
import { bearingText, clockHour, distanceText, etaText, speedText, wrap180 } from "../units.ts";
import type { DriftArea } from "../wire/DriftArea.ts";
import { logged, namesAboard, type View, whose } from "./context.ts";
import { type Level, levelOf } from "./levels.ts";
import { goingOf, headingOf } from "./needs.ts";

/** The way of the boat that goes. */
export interface Steering {
  readonly steer: string;
  readonly meets: boolean;
  /** Angle of the course to steer off our bow, clockwise; `null`: own heading not known. */
  readonly offBowDeg: number | null;
  readonly hour: number | null;
  readonly bearing: string;
  readonly distance: string;
  readonly time: string;
  readonly at: string;
}

/** One line of what was done. */
export interface DoneLine {
  readonly at: string;
  readonly by: string;
  readonly text: string;
}

/** All that the panel shows. */
export interface Rescue {
  readonly alert: number;
  readonly boat: number | null;
  readonly id: string;
  readonly what: string;
  readonly level: Level;
  readonly elapsed: string;
  /** Which stretch between the break points of 3, 10 and 30 minutes: 0 to 3. */
  readonly stage: number;
  readonly persons: number;
  readonly names: string;
  readonly heads: number | null;
  readonly missing: number;
  readonly steering: Steering | null;
  readonly drift: readonly { words: string; across: string }[];
  readonly going: number | null;
  /** Somebody else says that we go, and nobody here has said so yet. */
  readonly isSent: boolean;
  readonly goingWords: string;
  readonly log: readonly DoneLine[];
  readonly over: boolean;
}

/** The stretch in which so many milliseconds fall; the break point itself begins the next one. */
export function waterStage(elapsedMs: number): number {
  return WATER_BREAKS_MIN.filter((minutes) => elapsedMs >= minutes * 60_000).length;
}

/** The rescue that an alert asks for; `null` when the alert is not known. */
export function rescueOf(view: View, alertId: number): Rescue | null {
  const { state, now, t, units } = view;
  const alert = state.alerts.get(alertId);
  if (alert === undefined) return null;
  const need = state.needs.find((each) => each.alert === alertId);
  const persons = need?.persons ?? (alert.boat === null ? 0 : (state.boats.get(alert.boat)?.persons ?? 0));
  const elapsedMs = (alert.cleared?.at_ms ?? now) - alert.began_ms;
  const going = alert.attended?.boat ?? null;
  return {
    alert: alertId,
    boat: alert.boat,
    id: whose(state, alert, t),
    what: word(t.about, alert.about),
    level: levelOf(alert),
    elapsed: stopwatch(elapsedMs),
    stage: waterStage(elapsedMs),
    persons,
    names: alert.boat === null ? "" : namesAboard(state, alert.boat).join(", "),
    heads: alert.heads,
    missing: alert.heads === null ? 0 : Math.max(0, persons - alert.heads),
    steering: steeringOf(view, alertId, going),
    drift: (need?.drift ?? []).map((area) => ({
      words: t.rescue.driftIn(area.minutes),
      across: t.rescue.driftAcross(distanceText(acrossM(area), units)),
    })),
    going,
    isSent: goingOf(view, alert).going === "sent",
    goingWords: goingOf(view, alert).goingWords,
    log: doneLines(view, alertId, alert.boat, alert.raised_ms),
    over: alert.cleared !== null,
  };
}

function steeringOf(view: View, alertId: number, going: number | null): Steering | null {
  const { state, units } = view;
  const safety = going ?? view.own;
  const way = state.needs.find((each) => each.alert === alertId)?.ways.find((each) => each.safety === safety);
  if (way === undefined) return null;
  const steer = way.steer_deg ?? way.bearing_deg;
  const heading = headingOf(view, way.safety);
  return {
    steer: bearingText(steer),
    meets: way.steer_deg !== null,
    offBowDeg: heading === undefined ? null : wrap180(steer - heading),
    hour: heading === undefined ? null : clockHour(steer, heading),
    bearing: bearingText(way.bearing_deg),
    distance: distanceText(way.distance_m, units),
    time: etaText(way.time_s),
    at: view.t.rescue.at(speedText(way.at_kn, units)),
  };
}

/** The longest way across an area, metres. */
export function acrossM({ ring }: DriftArea): number {
  let longest = 0;
  for (const [index, a] of ring.entries()) {
    for (const b of ring.slice(index + 1)) longest = Math.max(longest, distanceM(a, b));
  }
  return longest;
}

function doneLines({ state, t }: View, alertId: number, boat: number | null, since: number): DoneLine[] {
  return state.log
    .filter((line) => line.alert === alertId || (boat !== null && line.boat === boat && line.at_ms >= since))
    .map((line) => ({ at: shortClock(line.at_ms), by: line.by, text: logged(state, line, t).text }))
    .reverse();
}
