import { describe, expect, it } from "vitest";
import { ALERTS, START_MS } from "../../dev/scene.ts";
import { LEVELS, rank } from "../views/levels.ts";
import { isDue, loudest, sounds } from "./due.ts";
import { burstLong, HARMONICS, PATTERNS } from "./patterns.ts";

const [capsize, contact, wind] = ALERTS;
if (capsize === undefined || contact === undefined || wind === undefined)
  throw new Error("the scene has three alerts");

describe("patterns", () => {
  // IEC 60601-1-8 as summarised by secondary texts: fundamentals 150 to 1000 Hz, at least four
  // harmonics between 300 and 4000 Hz within 15 dB.
  it.each(LEVELS)("%s keeps to the published band", (level) => {
    for (const { hz } of PATTERNS[level].burst) {
      expect(hz).toBeGreaterThanOrEqual(150);
      expect(hz).toBeLessThanOrEqual(1000);
      const heard = HARMONICS.filter(
        (strength, index) =>
          hz * (index + 1) >= 300 && hz * (index + 1) <= 4000 && 20 * Math.log10(1 / strength) <= 15,
      );
      expect(heard.length).toBeGreaterThanOrEqual(4);
    }
  });

  it("differs in the number of pulses from level to level, so that pitch is not needed", () => {
    expect(LEVELS.map((level) => PATTERNS[level].burst.length)).toEqual([10, 5, 3, 2]);
  });

  it("never runs into its own repetition, and repeats the graver more often", () => {
    for (const level of LEVELS) {
      const { everyS } = PATTERNS[level];
      if (everyS !== null) expect(burstLong(PATTERNS[level])).toBeLessThan(everyS);
    }
    expect(PATTERNS.emergency.everyS ?? 99).toBeLessThan(PATTERNS.alarm.everyS ?? 0);
    expect(PATTERNS.alarm.everyS ?? 99).toBeLessThan(PATTERNS.warning.everyS ?? 0);
    expect(PATTERNS.caution.everyS).toBeNull();
  });
});

describe("what is due", () => {
  it("is the gravest that nobody has acknowledged", () => {
    expect(loudest(ALERTS, START_MS)?.id).toBe(21);
    const said = { by: "x", at_ms: START_MS };
    expect(loudest([{ ...capsize, acknowledged: said }, contact, wind], START_MS)?.id).toBe(23);
    expect(loudest([{ ...capsize, cleared: { at_ms: 0, reason: "" } }, contact], START_MS)).toBeNull();
  });

  // A silence is temporary: the sound is back after 30 s (IMO MSC.252(83) 20.2.5).
  it("comes back when its silence ends", () => {
    const silenced = { ...capsize, silenced: { by: "x", at_ms: START_MS + 30_000 } };
    expect(sounds(silenced, START_MS + 29_999)).toBe(false);
    expect(sounds(silenced, START_MS + 30_000)).toBe(true);
  });

  it.each([
    ["nothing sounded yet", "caution", 1, null, 0, true],
    ["a graver level does not wait", "alarm", 1, { level: "warning", atMs: 0, alert: 1 }, 100, true],
    ["the same waits its interval", "alarm", 1, { level: "alarm", atMs: 0, alert: 1 }, 4_999, false],
    ["the same repeats", "alarm", 1, { level: "alarm", atMs: 0, alert: 1 }, 5_000, true],
    [
      "another of the level lets the burst end",
      "alarm",
      2,
      { level: "alarm", atMs: 0, alert: 1 },
      2_400,
      false,
    ],
    ["another of the level follows it", "alarm", 2, { level: "alarm", atMs: 0, alert: 1 }, 2_500, true],
    ["a caution sounds once", "caution", 1, { level: "caution", atMs: 0, alert: 1 }, 900_000, false],
  ] as const)("%s", (_why, level, alert, last, steady, expected) => {
    expect(isDue(level, alert, last, steady)).toBe(expected);
  });

  it("ranks the levels as IMO MSC.302(87) 6.1.1 does", () => {
    expect(LEVELS.map(rank)).toEqual([0, 1, 2, 3]);
  });
});
