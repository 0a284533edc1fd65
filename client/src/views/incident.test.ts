import { describe, expect, it } from "vitest";
import { ALERTS, placeE7, START_MS } from "../../dev/scene.ts";
import type { Incident } from "../wire/Incident.ts";
import { PICTURE_UNITS, trackPicture } from "./incident.ts";

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
