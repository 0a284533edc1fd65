// What the server says in finished English sentences (why an alert stands, how it ended, the log),
// put into the language of the screen. The sentences stay English on the wire, so that a recording
// replays to the same words whoever looks; here each is recognised by its pattern. One that is not
// known is shown as it came and marked as English, never guessed at.
import type { Language } from "./index.ts";
import { saidNl } from "./said-nl.ts";

/** A language's sentences: English pattern to words with the same holes. */
export interface SaidTable {
  /**
   * Holes: `{n}`, `{n2}`: a number; `{t}`: a span of time; `{w}`, `{w2}`: words of `words`;
   * `{s}`: another sentence of this table; `{x}`, `{y}`: anything, left as it is (a name, a note).
   * The first that fits counts.
   */
  readonly sentences: readonly (readonly [english: string, words: string])[];
  readonly words: Readonly<Record<string, string>>;
}

/** A sentence as it is shown. */
export interface Said {
  readonly words: string;
  /** Not known in the screen's language: shown in English, and marked so. */
  readonly isForeign: boolean;
}

interface Rule {
  readonly pattern: RegExp;
  readonly holes: readonly string[];
  readonly words: string;
}

/** Sentences nest: an entry of the log holds a piece of evidence. No deeper than this. */
const DEPTH_MAX = 4;
/** Between sentences told in one, and how many of them are looked for. */
const LIST_MARK = "; ";
const LIST_MAX = 6;

const KINDS: Readonly<Record<string, string>> = {
  n: "(-?\\d+(?:\\.\\d+)?)",
  t: "(\\d+ (?:s|min|h)(?: \\d+ (?:s|min))?)",
  w: "([a-z][a-z', -]*?[a-z])",
  s: "(.+)",
  x: "(.+?)",
  y: "(.+)",
};

function ruleOf([english, words]: readonly [string, string]): Rule {
  const holes: string[] = [];
  const pattern = english
    .split(/(\{\w+\})/)
    .map((part) => {
      const hole = /^\{(\w+)\}$/.exec(part)?.[1];
      if (hole === undefined) return part.replace(/[.*+?^${}()|[\]\\]/g, "\\$&");
      holes.push(hole);
      return KINDS[hole.charAt(0)] ?? "(.+?)";
    })
    .join("");
  return { pattern: new RegExp(`^${pattern}$`, "s"), holes, words };
}

const tables: Partial<Record<Language, { rules: readonly Rule[]; table: SaidTable }>> = {
  nl: { rules: saidNl.sentences.map(ruleOf), table: saidNl },
};

/** The sentence in this language. */
export function said(language: Language, english: string): Said {
  const known = tables[language];
  if (known === undefined || english === "") return { words: english, isForeign: false };
  const words = translate(known.rules, known.table, english, 0);
  return words === null ? { words: english, isForeign: true } : { words, isForeign: false };
}

function translate(rules: readonly Rule[], table: SaidTable, english: string, depth: number): string | null {
  for (const { pattern, holes, words } of rules) {
    const found = pattern.exec(english);
    if (found === null) continue;
    const filled = fill(rules, table, holes, found.slice(1), depth);
    if (filled !== null) return words.replace(/\{(\w+)\}/g, (_, hole: string) => filled.get(hole) ?? "");
  }
  return depth < DEPTH_MAX ? translateList(rules, table, english, depth + 1) : null;
}

/** Several sentences in one, where a sentence may hold the mark between them itself. */
function translateList(
  rules: readonly Rule[],
  table: SaidTable,
  english: string,
  depth: number,
): string | null {
  let at = english.indexOf(LIST_MARK);
  for (let tries = 0; at > 0 && tries < LIST_MAX; tries += 1) {
    const rest = english.slice(at + LIST_MARK.length);
    const first = translate(rules, table, english.slice(0, at), DEPTH_MAX);
    const others = first === null ? null : translate(rules, table, rest, depth);
    if (others !== null) return `${first}${LIST_MARK}${others}`;
    at = english.indexOf(LIST_MARK, at + LIST_MARK.length);
  }
  return null;
}

/** What goes into each hole; `null` when one cannot be said. */
function fill(
  rules: readonly Rule[],
  table: SaidTable,
  holes: readonly string[],
  found: readonly string[],
  depth: number,
): Map<string, string> | null {
  const filled = new Map<string, string>();
  for (const [index, hole] of holes.entries()) {
    const part = found[index] ?? "";
    const kind = hole.charAt(0);
    const words =
      kind === "w"
        ? table.words[part]
        : kind === "s"
          ? depth < DEPTH_MAX
            ? translate(rules, table, part, depth + 1)
            : null
          : kind === "t"
            ? part.replace(/h\b/, table.words.h ?? "h")
            : part;
    if (words === undefined || words === null) return null;
    filled.set(hole, words);
  }
  return filled;
}
