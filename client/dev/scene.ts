// An invented afternoon for looking at the screens and for the tests of the views: eight dinghies,
// two safety boats and a wind mast on water that does not exist. Typed by the wire, so that it
// cannot drift away from what the server sends.
import type { AlertState } from "../src/wire/AlertState.ts";
import type { BoatFacts } from "../src/wire/BoatFacts.ts";
import type { BoatInfo } from "../src/wire/BoatInfo.ts";
import type { BoatNow } from "../src/wire/BoatNow.ts";
import type { Need } from "../src/wire/Need.ts";
import type { Person } from "../src/wire/Person.ts";
import type { Snapshot } from "../src/wire/Snapshot.ts";
import type { Tick } from "../src/wire/Tick.ts";
import type { Trail } from "../src/wire/Trail.ts";
import type { Way } from "../src/wire/Way.ts";

/** The middle of the water, degrees. */
export const CENTRE: readonly [number, number] = [3.2, 54.1];

/** When the scene begins: 2026-07-14T12:03:00Z. */
export const START_MS = Date.UTC(2026, 6, 14, 12, 3, 0);

const M_PER_DEG = 111_320;

/** Lon/lat of a point so many metres east and north of the centre. */
export function place(eastM: number, northM: number): [number, number] {
  const lat = CENTRE[1] + northM / M_PER_DEG;
  return [CENTRE[0] + eastM / (M_PER_DEG * Math.cos((CENTRE[1] * Math.PI) / 180)), lat];
}

/** The same in the wire's whole numbers. */
export function placeE7(eastM: number, northM: number): [number, number] {
  const [lon, lat] = place(eastM, northM);
  return [Math.round(lon * 1e7), Math.round(lat * 1e7)];
}

const boat = (ix: number, id: string, role: string, name: string | null = null): BoatInfo => ({
  ix,
  id,
  name,
  role,
  class: role === "dinghy" ? "trainer" : null,
  crew: role === "dinghy" ? 3 : role === "safety" ? 2 : 0,
  has_feed: id !== "16",
});

/** The fleet. Boat 16 has no feed. */
export const FLEET: BoatInfo[] = [
  boat(0, "S1", "safety", "Tern"),
  boat(1, "S2", "safety", "Knot"),
  boat(2, "03", "dinghy"),
  boat(3, "05", "dinghy"),
  boat(4, "07", "dinghy"),
  boat(5, "08", "dinghy"),
  boat(6, "11", "dinghy"),
  boat(7, "12", "dinghy"),
  boat(8, "14", "dinghy"),
  boat(9, "16", "dinghy"),
  boat(10, "mast", "station"),
];

const sailing = (sail: string, twa: number, doing: string): Partial<BoatFacts> => ({ sail, twa, doing });

/** Facts of each boat `s` seconds into the scene. The wind is from 225 at 12 knots. */
export function factsAt(ix: number, s: number): BoatFacts | null {
  const t = START_MS + s * 1000;
  const common = { t, heard: t, sd_m: 2.5, standing: "afloat", persons: 3, battery: 80 - ix };
  const run = (e0: number, n0: number, hdg: number, kn: number, more: Partial<BoatFacts>): BoatFacts => {
    const way = kn * 0.5144 * s;
    const angle = (hdg * Math.PI) / 180;
    const at = placeE7(e0 + Math.sin(angle) * way, n0 + Math.cos(angle) * way);
    return { ...common, at, hdg, cog: hdg, kn, heel: 12, doing: "under way", ...more };
  };
  switch (ix) {
    case 0:
      return run(-60, -80, 45, 3, { persons: 2, heel: 0 });
    case 1:
      return run(430, 300, 270, 1, { persons: 2, heel: 0 });
    case 2:
      return run(-250, 40, 178, 3.4, sailing("port", 47, "close-hauled"));
    case 3:
      return run(-120, 180, 272, 3.1, sailing("starboard", -47, "close-hauled"));
    case 4:
      return {
        ...run(150, 130, 300, 0.4, { doing: "capsized?", heel: 88, sail: "port", p_capsize: 0.93 }),
      };
    case 5:
      return run(60, -140, 315, 4.2, sailing("starboard", -90, "reach"));
    case 6:
      return run(280, -60, 45, 3.8, sailing("port", 178, "run"));
    case 7: {
      const old = { t: START_MS - 95_000, heard: START_MS - 95_000 };
      return { ...common, ...old, at: placeE7(-330, -190), hdg: 120, kn: 2, doing: "no contact", sd_m: 9 };
    }
    case 8:
      return {
        ...common,
        at: placeE7(-30, 330),
        hdg: 20,
        kn: 0,
        standing: "ashore",
        doing: "ashore",
        persons: 0,
      };
    case 10:
      return { ...common, at: placeE7(-60, 380), standing: "ashore", doing: "under way", persons: 0 };
    default:
      return null;
  }
}

/** All boats at `s` seconds. */
export function boatsAt(s: number): BoatNow[] {
  return FLEET.flatMap(({ ix }) => {
    const facts = factsAt(ix, s);
    const silent: BoatFacts = { doing: "not tracked", standing: "afloat", persons: 3 };
    return [[ix, facts ?? silent] satisfies BoatNow];
  });
}

const ring = (eastM: number, northM: number, long: number, wide: number): [number, number][] =>
  Array.from({ length: 25 }, (_, i) => {
    const a = (i / 24) * 2 * Math.PI;
    const [x, y] = [Math.cos(a) * wide, Math.sin(a) * long];
    return place(eastM + (x + y) * 0.71, northM + (y - x) * 0.71);
  });

const way = (safety: number, distance_m: number, bearing_deg: number, time_s: number): Way => ({
  safety,
  distance_m,
  bearing_deg,
  steer_deg: bearing_deg + 4,
  time_s,
  at_kn: 15,
});

/** Who needs help: 07 before 12. */
export const NEEDS: Need[] = [
  {
    alert: 21,
    boat: 4,
    why: "in the water, nobody going",
    persons: 3,
    ways: [way(0, 297, 45, 42), way(1, 328, 239, 55)],
    drift: [
      { minutes: 5, ring: ring(185, 165, 50, 30) },
      { minutes: 10, ring: ring(225, 205, 90, 50) },
    ],
  },
  { alert: 22, boat: 7, why: "not heard", persons: 3, ways: [way(0, 290, 248, 41)], drift: [] },
];

const alert = (
  id: number,
  boatIx: number | null,
  about: string,
  level: string,
  ageS: number,
): AlertState => ({
  id,
  boat: boatIx,
  person: null,
  about,
  level,
  raised_ms: START_MS - ageS * 1000 + 9000,
  began_ms: START_MS - ageS * 1000,
  changed_ms: START_MS - ageS * 1000 + 9000,
  confidence: null,
  evidence: [],
  acknowledged: null,
  silenced: null,
  attended: null,
  heads: null,
  cleared: null,
  recorded: true,
});

/** Alerts that stand. */
export const ALERTS: AlertState[] = [
  {
    ...alert(21, 4, "capsize", "alarm", 48),
    confidence: 0.93,
    evidence: [
      "stopped within 3 s, was making 3.6 kn",
      "heel 88° for 40 s",
      "moves 0.4 kn to NE with the wind",
    ],
  },
  {
    ...alert(22, 7, "lost-contact", "warning", 95),
    evidence: ["nothing heard for 95 s", "was under way, no stop before"],
    acknowledged: { by: "Mara", at_ms: START_MS - 20_000 },
    attended: { boat: 1, by: "Mara", at_ms: START_MS - 20_000 },
  },
  { ...alert(23, null, "wind-over-limit", "caution", 120), evidence: ["gusts of 17 kn, limit 16 kn"] },
];

const person = (id: number, name: string, boatIx: number, standing = "afloat"): Person => ({
  id,
  name,
  part: boatIx < 2 ? "staff" : "learner",
  boat: boatIx,
  standing,
  since_ms: START_MS - 2_400_000,
  by: "Mara",
  buoyancy_checked: true,
  note: null,
});

/** Everyone, by first name. */
export const PEOPLE: Person[] = [
  ..."Ada Bo Cleo".split(" ").map((name, i) => person(1 + i, name, 2)),
  ..."Dov Edda Finn".split(" ").map((name, i) => person(4 + i, name, 3)),
  ..."Gus Hana Ivo".split(" ").map((name, i) => person(7 + i, name, 4)),
  ..."Jun Kai Lea".split(" ").map((name, i) => person(10 + i, name, 5)),
  ..."Milo Nell Otto".split(" ").map((name, i) => person(13 + i, name, 6)),
  ..."Pia Rolf Suri".split(" ").map((name, i) => person(16 + i, name, 7, i === 0 ? "unaccounted" : "afloat")),
  ..."Tess Ugo Vera".split(" ").map((name, i) => person(19 + i, name, 9)),
  person(30, "Mara", 1),
  person(31, "Niels", 0),
];

function trails(): Trail[] {
  return [0, 1, 2, 3, 4, 5, 6].map((ix) => ({
    ix,
    points: Array.from({ length: 180 }, (_, i) => {
      const facts = factsAt(ix, i - 180);
      const [lon, lat] = facts?.at ?? [0, 0];
      const dkn = Math.round((facts?.kn ?? 0) * 10 + Math.sin(i / 9) * 4);
      return [START_MS + (i - 180) * 1000, lon, lat, Math.max(0, dkn), Math.round(12 + Math.sin(i / 5) * 9)];
    }),
  }));
}

const square = (e: number, n: number, w: number, h: number) => [
  [place(e, n), place(e + w, n), place(e + w, n + h), place(e, n + h), place(e, n)],
];

/** What changes `s` seconds into the scene. */
export function tickAt(s: number): Tick {
  const now = START_MS + s * 1000;
  return {
    now_ms: now,
    boats: boatsAt(s),
    needs: NEEDS,
    wind: {
      at_ms: now,
      heard_ms: now - 1200,
      from_deg: 225 + Math.sin(s / 60) * 6,
      sd_deg: 4,
      speed_kn: 12.4 + Math.sin(s / 20) * 2,
      gust_kn: 17,
      lull_kn: 9,
      trend_deg: 8,
      basis: "instrument",
      because: "mast, heard 1 s ago; the boats' tracks agree within 6°",
    },
    strangers: [
      { source: "mmsi:235000001", name: "Passing yacht", at: placeE7(300, 200), heard_ms: now - 4000 },
    ],
  };
}

/** The first message of the scene. */
export function snapshotAt(s: number): Snapshot {
  return {
    version: 1,
    now_ms: START_MS + s * 1000,
    watching_since_ms: START_MS - 3_000_000,
    you: { name: "Niels", role: "duty_officer" },
    setup: {
      centre: "Grebe Sands",
      demo: true,
      zones: [
        { zone: "sailing-area", name: "Training area", polygons: [square(-450, -350, 900, 650)] },
        { zone: "no-go", name: "Fairway", polygons: [square(450, -350, 110, 720)] },
        { zone: "landing", name: "Slipway", polygons: [square(-120, 300, 200, 60)] },
        { zone: "shore", name: "Shore", polygons: [square(-450, 350, 900, 120)] },
      ],
      marks: [
        { name: "A", at: place(-200, -150) },
        { name: "B", at: place(200, -220) },
      ],
      boats: FLEET,
      wind_limit_kn: 16,
      stream: { towards_deg: 80, speed_kn: 0.4, basis: "entered" },
      base_map: false,
    },
    tick: tickAt(s),
    trails: trails(),
    winds: Array.from({ length: 110 }, (_, i) => {
      const mean = 12 + Math.sin(i / 9) * 2;
      return [START_MS - (110 - i) * 10_000, 222 + i / 20, mean, mean + 3.5 + Math.sin(i / 3)];
    }),
    alerts: ALERTS,
    manoeuvres: [
      { at_ms: START_MS - 200_000, boat: 4, turn: "tack", turn_deg: -94, before_kn: 3.6, after_kn: 2.1 },
      { at_ms: START_MS - 60_000, boat: 4, turn: "gybe", turn_deg: 71, before_kn: 3.9, after_kn: 3.0 },
    ],
    tally: {
      entries: FLEET.filter(({ role }) => role !== "station").map(({ ix }) => ({
        boat: ix,
        standing: ix === 8 ? "ashore" : "afloat",
        persons: ix === 8 ? 0 : ix < 2 ? 2 : 3,
        since_ms: START_MS - 2_400_000,
        by: ix % 2 === 0 ? "Mara" : null,
      })),
      boats_out: 9,
      persons_out: 25,
      unaccounted: 3,
    },
    day: {
      session: {
        id: 4,
        title: "Tuesday beginners",
        staff: ["Mara", "Niels"],
        opened_ms: START_MS - 3_000_000,
        back_by_ms: START_MS + 5_400_000,
        water_c: 16,
        wind_limit_kn: 16,
        tides: [
          { at_ms: START_MS - 7_200_000, height_m: 4.1, towards_deg: 80, speed_kn: 0.8 },
          { at_ms: START_MS + 9_000_000, height_m: 1.2, towards_deg: 260, speed_kn: 0.6 },
        ],
        closed: null,
      },
      people: PEOPLE,
      checks: [],
      defects: [],
      check_items: ["Buoyancy tanks dry", "Bungs in", "Rigging pins taped"],
      after_items: ["Washed with fresh water", "Drained", "Sails rinsed and dried"],
      sunset_ms: START_MS + 26_000_000,
      dusk_ms: START_MS + 29_000_000,
      cover: { safety_boats: 2, dinghies: 7, furthest_s: 61, furthest_boat: 7, thin: null },
      rules: { dinghies_per_safety_boat: 6, reach_within_s: 90, keep_days: 30 },
    },
    notices: [],
    signal: null,
    log: [
      { at_ms: START_MS - 2_400_000, by: "Mara", boat: null, alert: null, text: "All boats launched" },
      { at_ms: START_MS - 95_000, by: "dunlin", boat: 7, alert: 22, text: "No contact with 12" },
      { at_ms: START_MS - 39_000, by: "dunlin", boat: 4, alert: 21, text: "Possible capsize of 07" },
    ],
  };
}
