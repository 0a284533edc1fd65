import { describe, expect, it } from "vitest";
import { languages } from "./index.ts";

/** Every path to a word, and the word; functions are called with ones. */
function words(value: unknown, path: string): [string, string][] {
  if (typeof value === "string") return [[path, value]];
  if (typeof value === "function") return [[path, String(value(1, 1, 1))]];
  if (typeof value !== "object" || value === null) return [];
  return Object.entries(value).flatMap(([key, inner]) => words(inner, `${path}.${key}`));
}

const english = words(languages.en, "");

describe("languages", () => {
  it.each(Object.keys(languages))("%s has every word and no empty one", (code) => {
    const table = new Map(words(languages[code as keyof typeof languages], ""));
    for (const [path] of english) {
      if (path === ".speech.numbers.0") continue; // There is no "zero hundred metres".
      expect(table.get(path), path).toBeTruthy();
    }
    expect(table.size).toBe(english.length);
  });

  it("translates: hardly a sentence is the same in both", () => {
    const dutch = new Map(words(languages.nl, ""));
    const long = english.filter(([, word]) => word.length > 14);
    const same = long.filter(([path, word]) => dutch.get(path) === word);
    expect(same.length / long.length).toBeLessThan(0.05);
  });
});
