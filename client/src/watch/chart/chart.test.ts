import { describe, expect, it } from "vitest";
import { corners } from "./draw.ts";
import { type Box, freePlace, type Taken } from "./plates.ts";
import { scaleBar } from "./scale.ts";

const sheet = { left: 0, top: 0, right: 1000, bottom: 800 };
const size = { wide: 60, high: 24 };
const taken = (...covered: Box[]): Taken => ({ hulls: [], covered });

describe("plates", () => {
  it("stands to the right while there is room", () => {
    expect(freePlace({ at: [100, 100], gap: 20 }, size, taken(), sheet)).toMatchObject({
      left: 120,
      top: 88,
    });
  });

  it("moves aside for another and stays on the sheet", () => {
    const other = taken({ left: 115, top: 80, right: 200, bottom: 120 });
    expect(freePlace({ at: [100, 100], gap: 20 }, size, other, sheet)).toMatchObject({ right: 80 });
    expect(freePlace({ at: [990, 100], gap: 20 }, size, taken(), sheet)?.right).toBeLessThanOrEqual(1000);
  });

  it("stays with her even when everything is full", () => {
    expect(freePlace({ at: [100, 100], gap: 20 }, size, taken(sheet), sheet)).toMatchObject({ left: 120 });
  });

  it("shows as much of itself as it can when nothing is free", () => {
    const low = { left: 0, top: 0, right: 390, bottom: 90 };
    const corner = { left: 330, top: 0, right: 390, bottom: 60 };
    const box = freePlace({ at: [250, 60], gap: 30 }, { wide: 140, high: 44 }, taken(corner), low);
    expect(box).toMatchObject({ left: 80, right: 220 });
    const full = freePlace({ at: [120, 80], gap: 30 }, { wide: 140, high: 44 }, taken(), low);
    expect(full?.left).toBeGreaterThanOrEqual(0);
  });

  it("lies over a hull sooner than over another plate", () => {
    const full = { hulls: [sheet], covered: [{ left: 115, top: 80, right: 200, bottom: 120 }] };
    expect(freePlace({ at: [100, 100], gap: 20 }, size, full, sheet)).toMatchObject({ right: 80 });
  });

  it("is left out in a crowd where that is allowed", () => {
    expect(freePlace({ at: [100, 100], gap: 20 }, size, taken(sheet), sheet, true)).toBeNull();
  });
});

describe("level outlines", () => {
  it("have different numbers of corners, so that no colour is needed", () => {
    expect([corners("warning").length, corners("alarm").length, corners("emergency").length]).toEqual([
      3, 4, 16,
    ]);
  });
});

describe("scaleBar", () => {
  it.each([
    [1, "metric", 100, "100 m"],
    [0.5, "nautical", 100, "50 m"],
    [10, "metric", 100, "1.0 km"],
    [10, "nautical", 93, "½ nm"],
    [30, "nautical", 123, "2 nm"],
  ] as const)("at %d m a pixel, %s, is %d px for %s", (scale, units, px, words) => {
    expect(scaleBar(scale, units)).toEqual({ widthPx: px, words });
  });
});
