import { describe, expect, it } from "vitest";
import { bearingDeg, distanceM, fromE7 } from "./geo.ts";

// Distances and bearings on the WGS 84 ellipsoid by Karney's algorithm (C. F. F. Karney, Algorithms
// for geodesics, 2013), computed apart from this code with a geodesic library. The sphere used here
// may err by 0.5 % and half a degree over these lengths.
describe("on the sphere", () => {
  it.each([
    [[0, 0], [0, 0.01], 1105.743, 0],
    [[0, 0], [0.01, 0], 1113.195, 90],
    [[3.2, 54.1], [3.21, 54.1], 654.185, 89.996],
    [[3.2, 54.1], [3.2, 54.109], 1001.763, 0],
  ] as const)("from %j to %j", (a, b, metres, bearing) => {
    expect(Math.abs(distanceM(a, b) - metres) / metres).toBeLessThan(0.007);
    expect(bearingDeg(a, b)).toBeCloseTo(bearing, 0);
  });

  it("measures nothing between a point and itself", () => {
    expect(distanceM([3, 54], [3, 54])).toBe(0);
  });

  it("reads the wire's whole numbers", () => {
    expect(fromE7([32_000_000, 541_000_000])).toEqual([3.2, 54.1]);
  });
});
