import { describe, expect, it } from "vitest";
import { ALERTS, PEOPLE, START_MS, snapshotAt, tickAt } from "../../dev/scene.ts";
import { FIX_LOST_MS, FIX_OLD_MS } from "../limits.ts";
import { fromSnapshot, type State } from "../store.ts";
import { en } from "../strings/en.ts";
import type { AlertState } from "../wire/AlertState.ts";
import type { SessionState } from "../wire/SessionState.ts";
import { boatsOut, expectedBack, nextTide, peopleOut, unaccountedLines, whereabouts } from "./ashore.ts";
import { boatShapes, boatTiles, chartTurn, freshness } from "./boats.ts";
import type { View } from "./context.ts";
import { judgedCount, needCards, overUnseen, unseenBoats } from "./needs.ts";
import { rescueOf, waterStage } from "./rescue.ts";
import { sheetColumns, sheetOf } from "./sheet.ts";
import { alertSpeech, spokenDistance, spokenId } from "./speech.ts";
import { tallyStrip } from "./tally.ts";
import { tenths } from "./tenths.ts";
import { windColumns, windTile } from "./wind.ts";

const scene = (s = 0): State => fromSnapshot(snapshotAt(s));
const view = (more: Partial<View> = {}): View => ({
  state: scene(),
  now: START_MS,
  own: 0,
  t: en,
  units: "nautical",
  ...more,
});
const withAlerts = (alerts: AlertState[]): State => ({
  ...scene(),
  alerts: new Map(alerts.map((alert) => [alert.id, alert])),
});
const alert = (id: number): AlertState => {
  const found = ALERTS.find((each) => each.id === id);
  if (found === undefined) throw new Error(`no alert ${id} in the scene`);
  return found;
};

describe("needCards", () => {
  it("keeps the engine's order and puts what the engine did not rank behind it", () => {
    expect(needCards(view()).map((card) => card.alert)).toEqual([21, 22, 23]);
    const { state } = view();
    const turned = { ...state, needs: [...state.needs].reverse() };
    expect(needCards(view({ state: turned })).map((card) => card.alert)).toEqual([22, 21, 23]);
  });

  it("names a person who is overdue, and not one of another session by the same number", () => {
    const state = scene();
    const [listed] = state.day.people;
    const session = { ...(state.day.session as SessionState), id: 3 };
    const cardOf = (of: number) => {
      const person = { session: of, id: listed?.id ?? 0 };
      const late = { ...alert(21), id: 90, boat: null, person, about: "person-overdue" };
      const alerts = new Map([[late.id, late]]);
      const seen = view({ state: { ...state, alerts, needs: [], day: { ...state.day, session } } });
      return { card: needCards(seen)[0], speech: alertSpeech(seen, late.id) };
    };
    expect(cardOf(3).card).toMatchObject({ id: listed?.name, isPerson: true, what: "Not back yet" });
    expect(cardOf(3).card?.since).toMatch(/^for .+, expected at \d\d:\d\d$/);
    expect(cardOf(3).speech).toBe(`${listed?.name}. Not back yet.`);
    expect(cardOf(2).card?.id).toBe("Somebody");
  });

  it("never says that a capsize is certain, or that it cannot be", () => {
    expect([0.994, 0.95, 0.26, 0.03].map(tenths)).toEqual([9, 9, 3, 1]);
  });

  it("says who, where from here, and whether anyone is going", () => {
    const [first, second] = needCards(view());
    expect(first).toMatchObject({
      id: "07",
      what: "Possible capsize",
      persons: "3 persons",
      names: "Gus, Hana, Ivo",
      likely: "9 in 10 likely",
      going: "nobody",
      way: { from: "from us", bearing: "045°", hour: 12, distance: "300 m", time: "40 s" },
    });
    expect(second).toMatchObject({
      going: "other",
      goingWords: "S2 is going, says Mara",
      acknowledgedBy: "Mara",
    });
  });

  it("names the nearest safety boat when the tablet is in none, and no clock hour then", () => {
    expect(needCards(view({ own: null }))[0]?.way).toMatchObject({ from: "from S1", hour: null });
  });

  it("gives no clock hour by a heading that is old", () => {
    expect(needCards(view({ now: START_MS + FIX_OLD_MS }))[0]?.way?.hour).toBeNull();
  });

  it("shows how old a position is", () => {
    expect(needCards(view())[1]?.positionNote).toBe("position 95 s old");
  });

  it("shows missing heads", () => {
    const state = withAlerts([{ ...alert(21), heads: 2 }]);
    expect(needCards(view({ state }))[0]?.headsMissing).toBe(1);
  });

  it("takes a level that it does not know for an alarm", () => {
    const state = withAlerts([{ ...alert(21), level: "dire" }]);
    expect(needCards(view({ state }))[0]?.level).toBe("alarm");
  });

  it("is silent only until the silence ends", () => {
    const state = withAlerts([{ ...alert(21), silenced: { by: "x", at_ms: START_MS + 30_000 } }]);
    expect(needCards(view({ state }))[0]?.silenced).toBe(true);
    expect(needCards(view({ state, now: START_MS + 30_000 }))[0]?.silenced).toBe(false);
  });
});

describe("what is over", () => {
  it("stays in sight until somebody has seen it", () => {
    const cleared = { at_ms: START_MS, reason: "sailing again" };
    const state = withAlerts([
      { ...alert(21), cleared },
      { ...alert(22), cleared },
    ]);
    expect(needCards(view({ state }))).toEqual([]);
    expect(overUnseen(view({ state })).map((card) => card.alert)).toEqual([21]);
  });
});

describe("what dunlin cannot see", () => {
  it("is listed: no feed, and silent; ashore and masts are not", () => {
    expect(unseenBoats(view()).map(({ id, words }) => `${id} ${words}`)).toEqual([
      "12 silent for 95 s",
      "16 not tracked",
    ]);
  });

  it("does not count as judged", () => {
    expect(judgedCount(view())).toBe(5);
    expect(judgedCount(view({ now: START_MS + FIX_OLD_MS }))).toBe(0);
  });
});

describe("boatShapes", () => {
  const shape = (ix: number, now = START_MS) => boatShapes(view({ now })).find((each) => each.ix === ix);

  it("draws each boat where she was measured, however old that is", () => {
    expect(shape(2)?.at).toEqual(shape(2, START_MS + 600_000)?.at);
  });

  it.each([
    [0, "fresh"],
    [FIX_OLD_MS - 1, "fresh"],
    [FIX_OLD_MS, "old"],
    [FIX_LOST_MS, "lost"],
  ] as const)("calls a position of %i ms %s", (age, expected) => {
    expect(freshness(age)).toBe(expected);
  });

  it("puts the sail on the lee side and out as far as the wind is aft", () => {
    expect(shape(2)).toMatchObject({ sailSide: -1, pose: "sailing" }); // wind on the starboard side
    expect(shape(3)?.sailSide).toBe(1);
    expect(shape(6)?.boomDeg ?? 0).toBeGreaterThan(shape(2)?.boomDeg ?? 90);
  });

  it("lays a capsized boat on her side and says so in words", () => {
    expect(shape(4)).toMatchObject({ pose: "lying", level: "alarm", note: "Possible capsize" });
  });

  it("says how old an old position is", () => {
    expect(shape(7)).toMatchObject({ freshness: "lost", note: "No contact, 95 s ago" });
  });

  it("draws a ring where it matters, and none without a known accuracy", () => {
    expect(shape(4)?.ringM).toBe(5);
    expect(shape(2)?.ringM).toBeNull();
    expect(shape(7)?.ringM).toBe(18);
  });

  it("draws nothing that was never seen", () => {
    expect(shape(9)).toBeUndefined();
  });
});

describe("boatTiles", () => {
  it("has every boat, and says of the untracked that they are", () => {
    const tiles = boatTiles(view());
    expect(tiles.length).toBe(11);
    expect(tiles.find(({ id }) => id === "16")).toMatchObject({ freshness: "never", words: "not tracked" });
    expect(tiles.find(({ id }) => id === "07")).toMatchObject({ level: "alarm", words: "Possible capsize" });
  });
});

describe("chartTurn", () => {
  it("turns by the wind, by our bow, or not at all", () => {
    expect(chartTurn(view(), "north")).toBe(0);
    expect(chartTurn(view(), "wind")).toBeCloseTo(225, 5);
    expect(chartTurn(view(), "bow")).toBe(45);
  });

  it("does not turn by what is not known", () => {
    expect(chartTurn(view({ own: null }), "bow")).toBeNull();
    expect(chartTurn(view({ now: START_MS + FIX_OLD_MS }), "bow")).toBeNull();
    expect(chartTurn(view({ state: { ...scene(), wind: null } }), "wind")).toBeNull();
  });
});

describe("rescueOf", () => {
  // Break points at 3, 10 and 30 minutes: Brooks, Survival in Cold Waters, TP 13822 (2003), and
  // Giesbrecht's 1-10-1.
  it.each([
    [0, 0],
    [3 * 60_000 - 1, 0],
    [3 * 60_000, 1],
    [10 * 60_000, 2],
    [30 * 60_000, 3],
    [300 * 60_000, 3],
  ])("after %i ms is in stretch %i", (elapsed, stage) => {
    expect(waterStage(elapsed)).toBe(stage);
  });

  it("shows time, heads, the way that follows the drift, and the area", () => {
    expect(rescueOf(view(), 21)).toMatchObject({
      elapsed: "0:48",
      persons: 3,
      heads: null,
      missing: 0,
      steering: { steer: "049°", meets: true, offBowDeg: 4, distance: "300 m", time: "40 s" },
      goingWords: "Nobody is going",
    });
    expect(rescueOf(view(), 21)?.drift.length).toBe(2);
  });

  it("stops the clock when it is over", () => {
    const state = withAlerts([{ ...alert(21), cleared: { at_ms: START_MS + 12_000, reason: "righted" } }]);
    expect(rescueOf(view({ state, now: START_MS + 999_000 }), 21)).toMatchObject({
      elapsed: "1:00",
      over: true,
    });
  });

  it("gives no way without one, and nothing for an alert that is not there", () => {
    expect(rescueOf(view(), 23)?.steering).toBeNull();
    expect(rescueOf(view(), 999)).toBeNull();
  });
});

describe("sheetOf", () => {
  it("writes a dash for what is not known", () => {
    const facts = sheetOf(view(), 9)?.facts.map(({ value }) => value);
    expect(facts).toEqual(["–", "–", "–", "never seen", "–", "–"]);
  });

  it("lists her turns, newest first, and her people", () => {
    expect(sheetOf(view(), 4)).toMatchObject({ names: "Gus, Hana, Ivo", persons: 3 });
    expect(sheetOf(view(), 4)?.manoeuvres.map(({ what }) => what)).toEqual(["gybe", "tack"]);
  });

  it("leaves holes where speed or heel was not known", () => {
    const state = {
      ...scene(),
      trails: new Map([[4, [[START_MS, 0, 0, null, null] as const]]]),
    } as unknown as State;
    expect(sheetColumns(view({ state }), 4)).toEqual([[START_MS / 1000], [null], [null]]);
  });
});

describe("speech", () => {
  it("says who, what and where", () => {
    expect(alertSpeech(view(), 21)).toBe("Seven. Possible capsize. North-east, three hundred metres.");
  });

  it("gives no direction from a boat that is not ours", () => {
    expect(alertSpeech(view({ own: null }), 21)).toBe("Seven. Possible capsize.");
  });

  it("says that heads are missing", () => {
    const state = withAlerts([{ ...alert(21), heads: 1 }]);
    expect(alertSpeech(view({ state }), 21)).toContain("2 heads missing");
  });

  it.each([
    ["07", "Seven"],
    ["12", "12"],
    ["S1", "S 1"],
  ])("says %s as %s", (id, expected) => {
    expect(spokenId(id, en)).toBe(expected);
  });

  it.each([
    [40, "close by"],
    [310, "three hundred metres"],
    [340, "350 metres"],
    [990, "1000 metres"],
    [1852, "1.0 miles"],
  ])("says %i m as %s", (metres, expected) => {
    expect(spokenDistance(metres, en, "nautical")).toBe(expected);
  });
});

describe("wind", () => {
  it("is compared with the session's limit", () => {
    expect(windTile(view())).toMatchObject({ against: "gusts-over", limit: "16 kn", direction: "SW 225°" });
  });

  it("is unknown, never calm, without a basis", () => {
    const tile = windTile(view({ state: { ...scene(), wind: null } }));
    expect(tile).toMatchObject({ fromDeg: null, direction: "Wind not known", speed: "", against: "unknown" });
  });

  it("is plotted for twenty minutes, with a hole where it was not known", () => {
    const winds = [
      [START_MS - 1_300_000, 220, 10, 12],
      [START_MS - 600_000, 220, null, null],
      [START_MS - 10_000, 220, 10, 12],
    ] as const;
    const state = { ...scene(), winds } as unknown as State;
    expect(windColumns(view({ state })).slice(1)).toEqual([
      [null, 10],
      [null, 12],
      [16, 16],
    ]);
  });

  it("says its age when it is old", () => {
    expect(windTile(view({ now: START_MS + 120_000 })).old).toBe("2 min old");
  });
});

describe("tally and ashore", () => {
  it("counts nobody by itself", () => {
    expect(tallyStrip(view())).toEqual({
      out: "9 boats, 25 persons",
      accounted: "3 unaccounted for",
      alarm: true,
    });
    const tally = { entries: [], boats_out: 0, persons_out: 0, unaccounted: 0 };
    expect(tallyStrip(view({ state: { ...scene(), tally } }))).toMatchObject({
      out: "Nobody is out",
      accounted: "",
    });
  });

  it("puts the unaccounted for in front", () => {
    const rows = peopleOut(view());
    expect(rows.length).toBe(PEOPLE.length);
    expect(rows[0]).toMatchObject({ name: "Pia", unaccounted: true });
    expect(unaccountedLines(view()).map(({ who }) => who)).toEqual(["Pia", "12"]);
  });

  it("lists boats out and not those ashore", () => {
    expect(boatsOut(view()).map(({ title }) => title)).not.toContain("14");
    expect(boatsOut(view()).length).toBe(9);
  });

  it("says where a boat was last seen in words that people know", () => {
    expect(whereabouts(view(), 6)).toBe("180 m NE of B, 0 s old");
    expect(whereabouts(view(), 9)).toBe("never seen");
  });

  it("is late only while somebody is out", () => {
    const late = START_MS + 5_400_000 + 600_000;
    expect(expectedBack(view({ now: late }))).toMatchObject({ late: true, words: "10 min late" });
    const tally = { ...scene().tally, boats_out: 0 };
    expect(expectedBack(view({ now: late, state: { ...scene(), tally } }))).toMatchObject({
      late: false,
      words: "",
    });
    const day = { ...scene().day, session: null };
    expect(expectedBack(view({ state: { ...scene(), day } }))).toBeNull();
  });

  it("finds the next tide, and none after the last", () => {
    const rows = snapshotAt(0).day.session?.tides ?? [];
    expect(nextTide(rows, START_MS)?.height_m).toBe(1.2);
    expect(nextTide(rows, START_MS + 99_999_999)).toBeNull();
  });
});

describe("the scene", () => {
  it("moves", () => {
    expect(tickAt(10).boats).not.toEqual(tickAt(0).boats);
  });
});
