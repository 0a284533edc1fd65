import { describe, expect, it } from "vitest";
import { linesOf, timeToday } from "./change.ts";

describe("what people type", () => {
  it("keeps lines that hold anything", () => {
    expect(linesOf(" Ada \n\n\t\nBo\r\n")).toEqual(["Ada", "Bo"]);
  });

  it.each([
    ["14:30", 14, 30],
    ["9:05", 9, 5],
    [" 00:00 ", 0, 0],
  ])("reads %s as a time of today", (text, hours, minutes) => {
    const read = new Date(timeToday(text, Date.UTC(2026, 6, 14, 12)) ?? Number.NaN);
    expect([read.getHours(), read.getMinutes(), read.getSeconds()]).toEqual([hours, minutes, 0]);
  });

  it.each(["", "25:00", "14:60", "noon", "14"])("takes %j for no time", (text) => {
    expect(timeToday(text, 0)).toBeNull();
  });
});
