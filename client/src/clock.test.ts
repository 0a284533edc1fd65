import { describe, expect, it } from "vitest";
import { ServerClock, spanText, stopwatch } from "./clock.ts";

describe("ServerClock", () => {
  it("knows nothing before a server spoke", () => {
    expect(new ServerClock().at(5_000)).toBeNull();
  });

  it("trusts the message that was least delayed", () => {
    const clock = new ServerClock();
    clock.hear(1_000_000, 500); // at the server's 1,000,000 our clock read at most 500
    clock.hear(1_001_000, 1_900); // 400 ms late
    expect(clock.at(2_000)).toBeCloseTo(1_001_500, -1);
  });

  it("follows a server whose clock was set", () => {
    const clock = new ServerClock();
    clock.hear(1_000_000, 0);
    clock.hear(1_000_000 - 3_600_000, 1_000);
    expect(clock.at(1_000)).toBe(1_000_000 - 3_600_000);
  });
});

describe("spans", () => {
  it.each([
    [-5_000, "0:00"],
    [247_000, "4:07"],
    [3_753_000, "1:02:33"],
  ])("%i ms on a stopwatch is %s", (ms, expected) => {
    expect(stopwatch(ms)).toBe(expected);
  });

  it.each([
    [-1, "0 s"],
    [95_000, "95 s"],
    [100_000, "2 min"],
    [7_800_000, "2 h 10"],
  ])("%i ms in words is %s", (ms, expected) => {
    expect(spanText(ms)).toBe(expected);
  });
});
