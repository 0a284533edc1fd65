// One State and one apply. Nothing here reads a clock or draws.
import {
  CLEARED_MAX,
  LOG_MAX,
  MANOEUVRES_MAX,
  TRAIL_MAX,
  TRAIL_STEP_MS,
  WIND_MAX,
  WIND_STEP_MS,
} from "./limits.ts";
import type { AlertState } from "./wire/AlertState.ts";
import type { BoatFacts } from "./wire/BoatFacts.ts";
import type { BoatInfo } from "./wire/BoatInfo.ts";
import type { DayState } from "./wire/DayState.ts";
import type { LogLine } from "./wire/LogLine.ts";
import type { ManoeuvreState } from "./wire/ManoeuvreState.ts";
import type { Need } from "./wire/Need.ts";
import type { Notice } from "./wire/Notice.ts";
import type { SetupState } from "./wire/SetupState.ts";
import type { SignalState } from "./wire/SignalState.ts";
import type { Snapshot } from "./wire/Snapshot.ts";
import type { Stranger } from "./wire/Stranger.ts";
import type { TallyState } from "./wire/TallyState.ts";
import type { Tick } from "./wire/Tick.ts";
import type { ToTablet } from "./wire/ToTablet.ts";
import type { Trail } from "./wire/Trail.ts";
import type { WindState } from "./wire/WindState.ts";
import type { You } from "./wire/You.ts";

/** `[t_ms, lon_e7, lat_e7, speed_dkn or null, heel_deg or null]`. */
export type TrailPoint = Trail["points"][number];

/** `[t_ms, from_deg, speed_kn or null, gust_kn or null]`. */
export type WindPoint = Snapshot["winds"][number];

/** Everything a screen is made of. Replaced as a whole; never changed in place. */
export interface State {
  /** Server time of the newest message that carried one. */
  readonly nowMs: number;
  readonly watchingSinceMs: number;
  readonly you: You;
  readonly setup: SetupState;
  /** The fleet by its place. */
  readonly fleet: ReadonlyMap<number, BoatInfo>;
  readonly boats: ReadonlyMap<number, BoatFacts>;
  /** Ordered by the engine: the first is to be helped first. */
  readonly needs: readonly Need[];
  readonly wind: WindState | null;
  /** The last twenty minutes, oldest first. */
  readonly winds: readonly WindPoint[];
  readonly strangers: readonly Stranger[];
  readonly trails: ReadonlyMap<number, readonly TrailPoint[]>;
  readonly alerts: ReadonlyMap<number, AlertState>;
  readonly manoeuvres: readonly ManoeuvreState[];
  readonly tally: TallyState;
  readonly day: DayState;
  readonly notices: readonly Notice[];
  readonly signal: SignalState | null;
  readonly log: readonly LogLine[];
}

/** The state after a snapshot: nothing from before a gap survives. */
export function fromSnapshot(snapshot: Snapshot): State {
  const { tick, setup } = snapshot;
  return {
    nowMs: snapshot.now_ms,
    watchingSinceMs: snapshot.watching_since_ms,
    you: snapshot.you,
    setup,
    fleet: byPlace(setup),
    boats: new Map(tick.boats),
    needs: tick.needs,
    wind: tick.wind,
    winds: withWind(snapshot.winds.slice(-WIND_MAX), tick.wind),
    strangers: tick.strangers,
    trails: new Map(snapshot.trails.map((trail) => [trail.ix, trail.points.slice(-TRAIL_MAX)])),
    alerts: new Map(snapshot.alerts.map((alert) => [alert.id, alert])),
    manoeuvres: snapshot.manoeuvres.slice(-MANOEUVRES_MAX),
    tally: snapshot.tally,
    day: snapshot.day,
    notices: snapshot.notices,
    signal: snapshot.signal,
    log: snapshot.log.slice(-LOG_MAX),
  };
}

/** The state after one message. Before the first snapshot everything else is ignored. */
export function apply(state: State | null, message: ToTablet): State | null {
  if (message.kind === "snapshot") return fromSnapshot(message);
  if (state === null) return null;
  switch (message.kind) {
    case "tick":
      return withTick(state, message);
    case "alert":
      return { ...state, alerts: withAlert(state.alerts, message) };
    case "late":
      return withLate(state, message);
    case "manoeuvre":
      return { ...state, manoeuvres: [...state.manoeuvres.slice(1 - MANOEUVRES_MAX), message] };
    case "tally":
      return { ...state, tally: message };
    case "day":
      return { ...state, day: message };
    case "setup":
      return { ...state, setup: message, fleet: byPlace(message) };
    case "notices":
      return { ...state, notices: message.notices };
    case "signal":
      return { ...state, signal: message.signal };
    case "log":
      return { ...state, log: [...state.log.slice(1 - LOG_MAX), message] };
    case "outcome":
      return state; // The socket has matched it to its action; see actions.ts.
    default:
      return unreachable(message, state);
  }
}

/** A message kind that this build does not know must not compile; at run time it changes nothing. */
function unreachable(_message: never, state: State): State {
  return state;
}

function byPlace(setup: SetupState): ReadonlyMap<number, BoatInfo> {
  return new Map(setup.boats.map((boat) => [boat.ix, boat]));
}

function withTick(state: State, tick: Tick): State {
  if (tick.boats.length === 0) {
    return {
      ...state,
      nowMs: tick.now_ms,
      needs: tick.needs,
      ...windAfter(state, tick),
      strangers: tick.strangers,
    };
  }
  const boats = new Map(state.boats);
  const trails = new Map(state.trails);
  for (const [ix, facts] of tick.boats) {
    boats.set(ix, facts);
    const longer = withPoint(trails.get(ix) ?? [], facts);
    if (longer !== null) trails.set(ix, longer);
  }
  return {
    ...state,
    nowMs: tick.now_ms,
    boats,
    trails,
    needs: tick.needs,
    ...windAfter(state, tick),
    strangers: tick.strangers,
  };
}

function windAfter(state: State, tick: Tick): Pick<State, "wind" | "winds"> {
  return { wind: tick.wind, winds: withWind(state.winds, tick.wind) };
}

function withWind(winds: readonly WindPoint[], wind: WindState | null): readonly WindPoint[] {
  const last = winds.at(-1);
  if (wind === null || (last !== undefined && wind.at_ms - last[0] < WIND_STEP_MS)) return winds;
  return [...winds.slice(1 - WIND_MAX), [wind.at_ms, wind.from_deg, wind.speed_kn, wind.gust_kn]];
}

/** The trail with the boat's newest fix; `null` when that adds nothing. */
function withPoint(trail: readonly TrailPoint[], facts: BoatFacts): readonly TrailPoint[] | null {
  const { t, at } = facts;
  if (t === undefined || at === undefined) return null;
  const last = trail.at(-1);
  if (last !== undefined && t - last[0] < TRAIL_STEP_MS) return null;
  const speed = facts.kn === undefined ? null : Math.round(facts.kn * 10);
  return [...trail.slice(1 - TRAIL_MAX), [t, at[0], at[1], speed, facts.heel ?? null]];
}

/** Late positions belong where they were taken, among those that came in time. */
function withLate(state: State, late: Trail): State {
  const trail = [...(state.trails.get(late.ix) ?? []), ...late.points];
  trail.sort((one, other) => one[0] - other[0]);
  return { ...state, trails: new Map(state.trails).set(late.ix, trail.slice(-TRAIL_MAX)) };
}

function withAlert(
  alerts: ReadonlyMap<number, AlertState>,
  alert: AlertState,
): ReadonlyMap<number, AlertState> {
  const after = new Map(alerts).set(alert.id, alert);
  const cleared = [...after.values()].filter((each) => each.cleared !== null && each.acknowledged !== null);
  for (const old of cleared.slice(0, Math.max(0, cleared.length - CLEARED_MAX))) after.delete(old.id);
  return after;
}
