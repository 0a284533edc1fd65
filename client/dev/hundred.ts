// Many boats on made-up courses, for measuring the pages.
import type { AlertState } from "../src/wire/AlertState.ts";
import type { BoatNow } from "../src/wire/BoatNow.ts";
import type { Snapshot } from "../src/wire/Snapshot.ts";
import type { Tick } from "../src/wire/Tick.ts";
import { ALERTS, placeE7, START_MS, snapshotAt, tickAt } from "./scene.ts";

/** A made-up fleet. */
export interface ManyBoats {
  snapshot(s: number): Snapshot;
  tick(s: number): Tick;
  alert(id: number, boat: number): AlertState;
}

/** `count` boats, the first of which is the safety boat S1; each sails a circle of its own. */
export function fleetOf(count: number): ManyBoats {
  const boats = Array.from({ length: count }, (_, ix) => ({
    ix,
    id: ix === 0 ? "S1" : String(ix).padStart(2, "0"),
    name: null,
    role: ix === 0 ? "safety" : "dinghy",
    class: null,
    crew: 3,
    has_feed: true,
  }));
  const now = (ix: number, s: number): BoatNow => {
    const radius = 40 + (ix % 10) * 25;
    const angle = s / (radius / 2) + ix;
    const [middleE, middleN] = [((ix * 97) % 900) - 450, ((ix * 61) % 700) - 350];
    const heading = ((angle * 180) / Math.PI + 90) % 360;
    const at = placeE7(middleE + Math.sin(angle) * radius, middleN + Math.cos(angle) * radius);
    const t = START_MS + s * 1000;
    const twa = ((heading + 495) % 360) - 180;
    const sail = twa > 0 ? "port" : "starboard";
    return [
      ix,
      {
        t,
        heard: t,
        at,
        sd_m: 2,
        kn: 4,
        cog: heading,
        hdg: heading,
        heel: 10,
        sail,
        twa,
        doing: "reach",
        standing: "afloat",
        persons: 3,
      },
    ];
  };
  const tick = (s: number): Tick => ({ ...tickAt(s), needs: [], boats: boats.map(({ ix }) => now(ix, s)) });
  return {
    tick,
    snapshot: (s) => {
      const base = snapshotAt(s);
      return {
        ...base,
        setup: { ...base.setup, boats },
        tick: tick(s),
        trails: [],
        alerts: [],
        day: { ...base.day, session: null },
      };
    },
    alert: (id, boat) => ({
      ...(ALERTS[0] as AlertState),
      id,
      boat,
      began_ms: START_MS,
      // The newest stands first, where it is seen and moves all others.
      raised_ms: START_MS - id,
    }),
  };
}
