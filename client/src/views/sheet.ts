// One boat in full: her last minutes, who is in her, and what is known of her signal.
import { clockText, spanText } from "../clock.ts";
import { FIX_OLD_MS } from "../limits.ts";
import { word } from "../strings/index.ts";
import { bearingText, speedText, speedValue, UNKNOWN } from "../units.ts";
import { doingWords } from "./boats.ts";
import { boatTitle, fixAge, namesAboard, type View } from "./context.ts";
import { tenths } from "./tenths.ts";

/** A named value, with its age where it has one. */
export interface Fact {
  readonly name: string;
  readonly value: string;
}

/** The sheet. */
export interface Sheet {
  readonly ix: number;
  readonly id: string;
  readonly title: string;
  readonly role: string;
  readonly doing: string;
  readonly standing: string;
  readonly facts: readonly Fact[];
  readonly persons: number;
  readonly names: string;
  readonly manoeuvres: readonly { at: string; what: string; how: string }[];
  readonly notes: readonly { at: string; by: string; text: string }[];
  readonly hasFeed: boolean;
  readonly isDinghy: boolean;
  readonly alerts: readonly number[];
}

/** Tacks and gybes that the sheet lists. */
const LISTED = 6;

/** The sheet of one boat; `null` when the fleet has no such boat. */
export function sheetOf(view: View, ix: number): Sheet | null {
  const { state, now, t, units } = view;
  const info = state.fleet.get(ix);
  if (info === undefined) return null;
  const facts = state.boats.get(ix);
  const age = fixAge(facts, now);
  // What was measured with an old position is as old as that.
  const isOld = age !== null && age >= FIX_OLD_MS;
  const aged = (value: string) =>
    value === UNKNOWN || !isOld ? value : `${value}, ${t.misc.age(spanText(age))}`;
  const rows: Fact[] = [
    { name: t.boats.speed, value: aged(speedText(facts?.kn, units)) },
    { name: t.boats.heading, value: aged(bearingText(facts?.hdg)) },
    {
      name: t.boats.heel,
      value: aged(facts?.heel === undefined ? UNKNOWN : `${Math.round(Math.abs(facts.heel))}°`),
    },
    {
      name: t.boats.position,
      value: age === null ? t.boats.neverSeen : t.misc.age(spanText(age)) + accuracy(facts?.sd_m),
    },
    { name: t.boats.heard, value: facts?.heard === undefined ? UNKNOWN : spanText(now - facts.heard) },
    {
      name: t.boats.battery,
      value: facts?.battery === undefined ? UNKNOWN : `${Math.round(facts.battery)} %`,
    },
  ];
  return {
    ix,
    id: info.id,
    title: boatTitle(info, ix),
    role: word(t.roles, info.role),
    doing: doingWords(view, facts, info.has_feed) + chance(view, facts?.p_capsize),
    standing: facts === undefined ? "" : word(t.standing, facts.standing),
    facts: rows,
    persons: facts?.persons ?? info.crew,
    names: namesAboard(state, ix).join(", "),
    manoeuvres: state.manoeuvres
      .filter((turn) => turn.boat === ix)
      .slice(-LISTED)
      .reverse()
      .map((turn) => ({
        at: clockText(turn.at_ms),
        what: turn.turn === "gybe" ? t.boats.gybe : t.boats.tack,
        how: t.boats.turned(
          Math.round(Math.abs(turn.turn_deg)),
          speedText(turn.before_kn, units),
          speedText(turn.after_kn, units),
        ),
      })),
    notes: state.log
      .filter((line) => line.boat === ix)
      .slice(-20)
      .reverse()
      .map((line) => ({ at: clockText(line.at_ms), by: line.by, text: line.text })),
    hasFeed: info.has_feed,
    isDinghy: info.role === "dinghy",
    alerts: [...state.alerts.values()].filter((a) => a.boat === ix && a.cleared === null).map((a) => a.id),
  };
}

function accuracy(sdM: number | undefined): string {
  return sdM === undefined ? "" : `, ±\u00a0${Math.round(2 * sdM)}\u00a0m`;
}

/** A chance worth mentioning; below one in twenty it would only frighten. */
function chance({ t }: View, p: number | undefined): string {
  return p === undefined || p < 0.05 ? "" : `, ${t.boats.capsizeChance(tenths(p))}`;
}

/** Columns for the plot: seconds, speed, heel. Unknown is a hole, never zero. */
export type SheetColumns = [number[], (number | null)[], (number | null)[]];

/** Her last minutes out of her trail. */
export function sheetColumns({ state, units }: View, ix: number): SheetColumns {
  const columns: SheetColumns = [[], [], []];
  for (const [t, , , dkn, heel] of state.trails.get(ix) ?? []) {
    columns[0].push(t / 1000);
    columns[1].push(dkn === null ? null : speedValue(dkn / 10, units));
    columns[2].push(heel === null ? null : Math.abs(heel));
  }
  return columns;
}
