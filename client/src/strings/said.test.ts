import { describe, expect, it } from "vitest";
import { said } from "./said.ts";
import { saidNl } from "./said-nl.ts";

/** Something for each kind of hole; none of it is English that a Dutch reader should not see. */
const FILLINGS: Readonly<Record<string, string>> = {
  n: "12.5",
  t: "2 min 5 s",
  w: "capsized",
  s: "hardly moving",
  x: "07",
  y: "08",
};

const filled = (pattern: string) =>
  pattern.replace(/\{(\w)\w*\}/g, (_, kind: string) => FILLINGS[kind] ?? "");

describe("said", () => {
  it.each([
    ["heel 88 deg", "helling 88°"],
    ["3.6 kn to 0.4 kn in 3 s", "van 3.6 naar 0.4 kn in 3 s"],
    ["drifting 041 at 0.4 kn with the wind for 14 s", "drijft 14 s met de wind mee met 0.4 kn naar 041°"],
    ["capsized or waiting, not told apart", "omgeslagen of wacht, niet te onderscheiden"],
    ["righted, bailing, silent for 9 s", "weer overeind, hoost, 9 s stil"],
    [
      "25 m outside the sailing area's north-east edge for 1 h 3 min",
      "1 u 3 min buiten de noordoostrand van het vaargebied, 25 m",
    ],
    ["last seen making 2.1 kn towards 350", "laatst gezien: gaat met 2.1 kn naar 350°"],
    ["Robin says: person overboard", "Robin zegt: persoon overboord"],
    ["will enter the fairway in about 20 s", "vaart over ongeveer 20 s the fairway in"],
    ["07: capsize, alarm: heel 88 deg", "07: mogelijk omgeslagen, alarm: helling 88°"],
    ["07: capsize over: sailing", "07: mogelijk omgeslagen voorbij: zeilt"],
    ["07: capsize over: towed by a friend", "07: mogelijk omgeslagen voorbij: towed by a friend"],
    ["07: capsize over: Was never in trouble", "07: mogelijk omgeslagen voorbij: Was nooit in moeilijkheden"],
    [
      "mast says a wind 27 degrees anticlockwise of the courses of 13 boats, S1",
      "mast geeft een wind 27° linksom van de koersen van 13 boten, S1",
    ],
    ["Ada is ashore", "Ada is aan de wal"],
    [
      "1 safety boat for 12 dinghies; the centre's rule is 1 for 6; 300 s to 07; the centre's rule is 240 s. Local rules decide.",
      "1 veiligheidsboot voor 12 boten; de regel van het centrum is 1 op 6; 300 s naar 07; de regel van het centrum is 240 s. De regels ter plaatse beslissen.",
    ],
  ])("says %s", (english, dutch) => {
    expect(said("nl", english)).toEqual({ words: dutch, isForeign: false });
  });

  it.each(saidNl.sentences.map(([english]) => english))("knows its own pattern %s", (pattern) => {
    const { words, isForeign } = said("nl", filled(pattern));
    expect(isForeign).toBe(false);
    expect(words).not.toMatch(/[{}]/);
    expect(words).not.toMatch(/\bcapsized\b|hardly moving/);
    if (pattern.includes("{n}")) expect(words).toContain("12.5");
    if (pattern.includes("{x}")) expect(words).toContain("07");
  });

  it("leaves what it does not know in English and says so", () => {
    const sentence = "the rudder sings";
    expect(said("nl", sentence)).toEqual({ words: sentence, isForeign: true });
    expect(said("nl", "Robin says: dancing")).toMatchObject({ isForeign: true });
  });

  it("leaves everything as it came on an English screen", () => {
    expect(said("en", "heel 88 deg")).toEqual({ words: "heel 88 deg", isForeign: false });
  });

  it("takes no time over a long note", () => {
    expect(said("nl", "; ".repeat(2000)).isForeign).toBe(true);
  });
});
