import { expect, test } from "vitest";
import { Level } from "./heel.ts";

/** What a phone lying flat, top to the bow, feels when the boat heels to starboard by `deg`. */
function heeled(deg: number) {
  // The right edge goes down: the reaction of gravity, which the phone reports, leans to its left.
  const rad = (deg * Math.PI) / 180;
  return { x: -9.81 * Math.sin(rad), y: 0, z: 9.81 * Math.cos(rad) };
}

test("nothing is said before somebody has set the upright", () => {
  const level = new Level();
  expect(level.setUpright()).toBe(false);
  level.hear(heeled(10), 0);
  expect(level.heelDeg()).toBeNull();
});

test("heel to starboard is positive and to port negative", () => {
  const level = new Level();
  level.hear(heeled(0), 0);
  expect(level.setUpright()).toBe(true);
  let ms = 0;
  for (const deg of [20, -35, 90, -100]) {
    for (const end = ms + 20_000; ms < end; ms += 100) level.hear(heeled(deg), ms);
    expect(level.heelDeg()).toBeCloseTo(deg, 0);
  }
});

test("a knock is no angle", () => {
  const level = new Level();
  level.hear(heeled(0), 0);
  level.setUpright();
  level.hear({ x: 40, y: 0, z: 0 }, 50);
  expect(level.heelDeg()).toBeCloseTo(0, 6);
});
