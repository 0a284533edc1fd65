import { readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { said } from "./said.ts";
import { refusedWordsNl } from "./said-nl-refused.ts";

const SERVER = join(import.meta.dirname, "../../../server/dunlin/src");
/** Where refusals that reach a tablet are worded. */
const SOURCES = ["hub/act.rs", "hub/live.rs", "link.rs", "day/change.rs", "day/people.rs", "day/desk.rs"];

/** Every refusal as the server's source words it, its holes filled. */
function refusals(): string[] {
  const found: string[] = [];
  for (const file of SOURCES) {
    const text = readFileSync(join(SERVER, file), "utf8").split("#[cfg(test)]")[0] ?? "";
    const literal = String.raw`"((?:[^"\\]|\\.)*)"`;
    const before = String.raw`(?:Err\(\s*(?:format!\(\s*)?|ok_or_else\(\|\| (?:format!\()?|refuse\(\w[\w.]*, &?(?:format!\()?|#\[error\()`;
    for (const [, words = ""] of text.matchAll(new RegExp(before + literal, "g"))) {
      // An error that wraps another has no words of its own.
      if (words !== "{0}") found.push(words.replaceAll('\\"', '"'));
    }
  }
  return [...new Set(found)];
}

/** The holes of the source, filled with what may stand there. */
function filled(words: string): string[] {
  const rest = (text: string) => text.replace("a {} may", "a instructor may").replace(/\{[^}]*\}/g, "12");
  if (words.startsWith("{what}"))
    return Object.keys(refusedWordsNl).map((what) =>
      words.replace("{what}", what).replace(/\{[^}]*\}/g, "12"),
    );
  return [rest(words)];
}

describe("refusals", () => {
  const all = refusals();

  it("are found in the server's source", () => {
    expect(all.length).toBeGreaterThan(35);
    expect(all).toContain("this alert is already over");
  });

  it.each(all)("%s: has Dutch words", (words) => {
    for (const sentence of filled(words))
      expect(said("nl", sentence), sentence).toMatchObject({ isForeign: false });
  });
});
