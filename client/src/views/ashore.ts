// For the beach: who is still out, person by person and boat by boat, the unaccounted for in front.
import { shortClock, spanText } from "../clock.ts";
import { bearingDeg, distanceM, fromE7, type LonLat } from "../geo.ts";
import { word } from "../strings/index.ts";
import { distanceText, positionText, sector8 } from "../units.ts";
import type { TideRow } from "../wire/TideRow.ts";
import { boatId, boatTitle, fixAge, isOut, namesAboard, type View } from "./context.ts";

/** One person who is not back. */
export interface PersonRow {
  readonly id: number;
  readonly name: string;
  readonly boat: string;
  readonly standing: string;
  readonly since: string;
  readonly lastSeen: string;
  readonly says: string;
  readonly unaccounted: boolean;
}

/** People out, the unaccounted for first, then by boat and name. */
export function peopleOut(view: View): PersonRow[] {
  const { state, now, t } = view;
  return state.day.people
    .filter((person) => person.standing === "afloat" || person.standing === "unaccounted")
    .map((person) => ({
      id: person.id,
      name: person.name,
      boat: boatId(state, person.boat),
      standing: word(t.standing, person.standing),
      since: `${shortClock(person.since_ms)} (${spanText(now - person.since_ms)})`,
      lastSeen: person.boat === null ? t.misc.unknown : whereabouts(view, person.boat),
      says: person.by ?? t.ashore.byTrack,
      unaccounted: person.standing === "unaccounted",
    }))
    .sort(
      (a, b) =>
        Number(b.unaccounted) - Number(a.unaccounted) ||
        a.boat.localeCompare(b.boat) ||
        a.name.localeCompare(b.name),
    );
}

/** Somebody whose whereabouts nobody knows, and where to begin. */
export interface MissingLine {
  readonly who: string;
  readonly words: string;
}

/** Persons said to be missing, then boats without contact, then boats where heads were short. */
export function unaccountedLines(view: View): MissingLine[] {
  const { state, t } = view;
  const people = peopleOut(view)
    .filter((person) => person.unaccounted)
    .map((person) => ({ who: person.name, words: `${person.boat}, ${person.lastSeen}` }));
  const lost = state.tally.entries
    .filter(({ boat, standing }) => isOut(standing) && state.boats.get(boat)?.doing === "no contact")
    .map(({ boat, persons }) => {
      const names = namesAboard(state, boat).join(", ");
      const who = names === "" ? t.needs.persons(persons) : names;
      return { who: boatId(state, boat), words: `${who}. ${whereabouts(view, boat)}` };
    });
  const short = [...state.alerts.values()].flatMap((alert) => {
    if (alert.boat === null || alert.heads === null || alert.cleared !== null) return [];
    const missing = (state.boats.get(alert.boat)?.persons ?? 0) - alert.heads;
    const words = [t.needs.headsShort(missing), namesAboard(state, alert.boat).join(", ")];
    const told = [...words.filter((part) => part !== ""), whereabouts(view, alert.boat)].join(". ");
    return missing > 0 ? [{ who: boatId(state, alert.boat), words: told }] : [];
  });
  return [...people, ...lost, ...short];
}

/** One boat that is not back. */
export interface BoatRow {
  readonly ix: number;
  readonly title: string;
  readonly persons: string;
  readonly standing: string;
  readonly since: string;
  readonly lastSeen: string;
  readonly says: string;
}

/** Boats out by the tally, in fleet order. */
export function boatsOut(view: View): BoatRow[] {
  const { state, now, t } = view;
  return state.tally.entries
    .filter((entry) => isOut(entry.standing))
    .map((entry) => ({
      ix: entry.boat,
      title: boatTitle(state.fleet.get(entry.boat), entry.boat),
      persons: t.needs.persons(entry.persons),
      standing: word(t.standing, entry.standing),
      since: `${shortClock(entry.since_ms)} (${spanText(now - entry.since_ms)})`,
      lastSeen: whereabouts(view, entry.boat),
      says: entry.by ?? t.ashore.byTrack,
    }));
}

/** "340 m NE of Slipway, 4 s old"; degrees where nothing has a name; says so when she was never seen. */
export function whereabouts(view: View, ix: number): string {
  const { state, now, t, units } = view;
  const facts = state.boats.get(ix);
  const age = fixAge(facts, now);
  if (facts?.at === undefined || age === null) return t.boats.neverSeen;
  const at = fromE7(facts.at);
  const old = t.misc.age(spanText(age));
  const landmark = nearest(view, at);
  if (landmark === null) return `${positionText(at)}, ${old}`;
  const sector = t.compass[sector8(bearingDeg(landmark.at, at))] ?? "";
  return `${t.ashore.place(distanceText(distanceM(landmark.at, at), units), sector, landmark.name)}, ${old}`;
}

/** The nearest landing place or mark: words that people on the beach know. */
function nearest({ state }: View, at: LonLat): { name: string; at: LonLat } | null {
  const places = [
    ...state.setup.zones
      .filter(({ zone }) => zone === "landing")
      .map(({ name, polygons }) => ({ name, at: middle(polygons) })),
    ...state.setup.marks.map((mark) => ({ name: mark.name, at: mark.at })),
  ];
  let best: { name: string; at: LonLat } | null = null;
  for (const each of places) {
    if (best === null || distanceM(each.at, at) < distanceM(best.at, at)) best = each;
  }
  return best;
}

function middle(polygons: [number, number][][][]): LonLat {
  const corners = polygons[0]?.[0] ?? [];
  const sum = corners.reduce<[number, number]>(
    ([lon, lat], corner) => [lon + corner[0], lat + corner[1]],
    [0, 0],
  );
  return corners.length === 0 ? [0, 0] : [sum[0] / corners.length, sum[1] / corners.length];
}

/** When everyone is expected back, and how long that is. */
export interface Expected {
  readonly at: string;
  readonly words: string;
  readonly late: boolean;
}

/** Expected return of the session; `null`: none is set. */
export function expectedBack({ state, now, t }: View): Expected | null {
  const at = state.day.session?.back_by_ms ?? null;
  if (at === null) return null;
  const late = now > at && state.tally.boats_out > 0;
  const words = now > at ? t.ashore.late(spanText(now - at)) : t.ashore.left(spanText(at - now));
  return { at: shortClock(at), words: now > at && !late ? "" : words, late };
}

/** The next row of the tide table; `null`: nothing entered for later. */
export function nextTide(rows: readonly TideRow[], now: number): TideRow | null {
  return [...rows].sort((a, b) => a.at_ms - b.at_ms).find((row) => row.at_ms >= now) ?? null;
}
