import { describe, expect, it } from "vitest";
import { linesOf, timeNear } from "./change.ts";

/** Local time on 14 July 2026, whatever the time zone; hours may run over. */
const july = (hours: number, minutes: number) => new Date(2026, 6, 14, hours, minutes).getTime();

describe("what people type", () => {
  it("keeps lines that hold anything", () => {
    expect(linesOf(" Ada \n\n\t\nBo\r\n")).toEqual(["Ada", "Bo"]);
  });

  it.each([
    ["14:30", july(12, 0), july(14, 30)],
    ["9:05", july(12, 0), july(9, 5)],
    ["20:00", july(7, 30), july(20, 0)],
    [" 00:30 ", july(23, 0), july(24, 30)],
    ["23:50", july(24, 10), july(23, 50)],
    ["00:30", july(24, 10), july(24, 30)],
    ["03:15", july(12, 0), july(27, 15)],
  ])("reads %s as the time of that name that is meant", (text, now, expected) => {
    expect(timeNear(text, now, null)).toBe(expected);
  });

  it("leaves what was saved as it is until another time is typed", () => {
    const saved = july(9, 0);
    expect(timeNear("09:00", july(23, 0), saved)).toBe(saved);
    expect(timeNear("09:30", july(10, 0), saved)).toBe(july(9, 30));
  });

  it.each(["", "25:00", "14:60", "noon", "14"])("takes %j for no time", (text) => {
    expect(timeNear(text, 0, null)).toBeNull();
  });
});
