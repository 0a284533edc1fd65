import { describe, expect, it } from "vitest";
import { ALERTS, placeE7, START_MS } from "../../dev/scene.ts";
import type { Incident } from "../wire/Incident.ts";
import { PICTURE_UNITS, trackPicture, whoDidWhat } from "./incident.ts";

const [alert] = ALERTS;
if (alert === undefined) throw new Error("the scene has alerts");
const incident = (track: Incident["track"]): Incident => ({
  alert,
  from_ms: START_MS - 600_000,
  until_ms: START_MS,
  track,
  wind: [],
  log: [],
});
const point = (s: number, e: number, n: number): Incident["track"][number] => [
  START_MS + s * 1000,
  ...placeE7(e, n),
  30,
  null,
];

describe("trackPicture", () => {
  it("is nothing without a track", () => {
    expect(trackPicture(incident([]))).toBeNull();
  });

  it("puts north up and east to the right, at one scale", () => {
    const picture = trackPicture(incident([point(-100, 0, 0), point(-80, 100, 0), point(-60, 100, 100)]));
    const [a, b, c] = (picture?.parts[0] ?? "").split(" ").map((pair) => pair.split(",").map(Number));
    expect((b?.[0] ?? 0) - (a?.[0] ?? 0)).toBeCloseTo((b?.[1] ?? 0) - (c?.[1] ?? 0), 0);
    expect(b?.[0] ?? 0).toBeGreaterThan(a?.[0] ?? 0);
    expect(c?.[1] ?? 0).toBeLessThan(b?.[1] ?? 0);
  });

  it("does not join what nobody saw", () => {
    expect(trackPicture(incident([point(0, 0, 0), point(5, 10, 0), point(60, 80, 0)]))?.parts.length).toBe(2);
  });

  it("keeps a boat that did not move inside the picture", () => {
    const spot = trackPicture(incident([point(0, 0, 0)]))?.spots[0];
    expect(spot).toMatchObject({ x: PICTURE_UNITS / 2, y: PICTURE_UNITS / 2 });
  });
});

describe("whoDidWhat", () => {
  const line = (s: number, text: string, more: { boat?: number; alert?: number } = {}) => ({
    at_ms: START_MS + s * 1000,
    by: "Mara",
    boat: more.boat ?? null,
    alert: more.alert ?? null,
    text,
  });

  it("puts the papers and what was done about the alert into one order, each once", () => {
    const papers = {
      ...incident([]),
      log: [line(-60, "session: A"), line(-20, "boat righted", { boat: 4 })],
    };
    const shown = [
      line(-700, "too early", { boat: 4 }),
      line(-40, "S1 is going", { boat: 4, alert: 21 }),
      line(-20, "boat righted", { boat: 4 }),
      line(-10, "another boat's", { boat: 5 }),
    ];
    expect(whoDidWhat(papers, shown).map(({ text }) => text)).toEqual([
      "session: A",
      "S1 is going",
      "boat righted",
    ]);
  });
});
