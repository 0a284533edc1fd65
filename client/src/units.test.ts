import { describe, expect, it } from "vitest";
import {
  bearingText,
  clockHour,
  distanceText,
  etaText,
  mpsFromKn,
  positionText,
  sector8,
  speedText,
  UNKNOWN,
  windSpeedText,
  wrap180,
  wrap360,
} from "./units.ts";

describe("quantities", () => {
  // The international nautical mile is exactly 1852 m (First International Extraordinary
  // Hydrographic Conference, 1929), so a knot is 1852/3600 m/s.
  it("converts knots by the definition of the mile", () => {
    expect(mpsFromKn(3600)).toBeCloseTo(1852, 9);
  });

  it.each([
    [null, UNKNOWN],
    [undefined, UNKNOWN],
    [0, "0.0 kn"],
    [4.25, "4.3 kn"],
  ])("writes a speed of %s knots as %s", (kn, expected) => {
    expect(speedText(kn, "nautical")).toBe(expected);
  });

  it("writes an unknown wind as a dash in both systems", () => {
    expect(windSpeedText(null, "metric")).toBe(UNKNOWN);
    expect(windSpeedText(12.4, "nautical")).toBe("12 kn");
    expect(windSpeedText(12.4, "metric")).toBe("6.5 m/s");
  });

  it.each([
    [2, "nautical", "0 m"],
    [83, "nautical", "85 m"],
    [344, "nautical", "340 m"],
    [999, "nautical", "1000 m"],
    [1852, "nautical", "1.00 nm"],
    [1852, "metric", "1.9 km"],
    [null, "metric", UNKNOWN],
  ] as const)("writes %s m in %s as %s", (metres, units, expected) => {
    expect(distanceText(metres, units)).toBe(expected);
  });

  it.each([
    [0, "000°"],
    [359.6, "000°"],
    [-1, "359°"],
    [47.4, "047°"],
    [720, "000°"],
  ])("writes a bearing of %d as %s", (deg, expected) => {
    expect(bearingText(deg)).toBe(expected);
  });

  it.each([
    [null, UNKNOWN],
    [2, "5 s"],
    [44, "45 s"],
    [60, "1 min"],
    [84, "1 min 20"],
    [598, "10 min"],
    [720, "12 min"],
  ])("writes %s seconds to go as %s", (seconds, expected) => {
    expect(etaText(seconds)).toBe(expected);
  });
});

describe("angles", () => {
  it.each([
    [-1, 359],
    [360, 0],
    [725, 5],
  ])("wraps %d to %d", (deg, expected) => {
    expect(wrap360(deg)).toBe(expected);
  });

  it.each([
    [181, -179],
    [180, 180],
    [-180, 180],
    [540, 180],
  ])("folds %d to %d", (deg, expected) => {
    expect(wrap180(deg)).toBe(expected);
  });

  it.each([
    [90, 90, 12],
    [180, 90, 3],
    [0, 90, 9],
    [270, 90, 6],
    [350, 10, 11],
    [14, 0, 12],
    [16, 0, 1],
  ])("bearing %d from heading %d is at %d o'clock", (bearing, heading, hour) => {
    expect(clockHour(bearing, heading)).toBe(hour);
  });

  it.each([
    [22, 0],
    [23, 1],
    [338, 0],
    [225, 5],
  ])("%d degrees lies in sector %d", (deg, sector) => {
    expect(sector8(deg)).toBe(sector);
  });
});

describe("positionText", () => {
  it.each([
    [[3.2, 54.1], "54°06.00'N 003°12.00'E"],
    [[-11.79999, -0.5], "00°30.00'S 011°48.00'W"],
    [[179.99999, 47.348409], "47°20.90'N 180°00.00'E"],
  ] as const)("says %j as %s", (at, words) => {
    expect(positionText([at[0], at[1]])).toBe(words);
  });
});
