// What one tablet's person has chosen; kept on the tablet, never sent.
import { type Language, languages, type Strings } from "./strings/index.ts";
import type { UnitSystem } from "./units.ts";

/** The choices. */
export interface Choices {
  theme: "sun" | "dusk" | "night";
  size: "s" | "m" | "l" | "xl";
  units: UnitSystem;
  hand: "right" | "left";
  language: Language;
  up: "north" | "wind" | "bow";
  /** Painted number of the safety boat that carries the tablet; `null`: ashore; absent: not asked. */
  ownBoat?: string | null;
  speech: boolean;
  vibrate: boolean;
  /** When somebody last said that they heard the test, UTC milliseconds. */
  heardAt: number | null;
}

const KEY = "dunlin-choices";

const FIRST: Choices = {
  theme: "sun",
  size: "m",
  units: "nautical",
  hand: "right",
  language: "en",
  up: "north",
  speech: true,
  vibrate: true,
  heardAt: null,
};

/** Choices out of what was kept: anything unreadable or unknown falls back to the first ones. */
export function readChoices(kept: string | null): Choices {
  try {
    const value: unknown = JSON.parse(kept ?? "{}");
    if (typeof value !== "object" || value === null) return { ...FIRST };
    const choices = { ...FIRST, ...value };
    return choices.language in languages ? choices : { ...choices, language: FIRST.language };
  } catch {
    return { ...FIRST };
  }
}

class Settings {
  choices: Choices = $state(
    readChoices(typeof localStorage === "undefined" ? null : localStorage.getItem(KEY)),
  );

  /** The words of the chosen language. */
  get t(): Strings {
    return languages[this.choices.language];
  }

  /** Changes some choices and keeps them. */
  set(some: Partial<Choices>): void {
    Object.assign(this.choices, some);
    localStorage.setItem(KEY, JSON.stringify(this.choices));
  }
}

/** This tablet's choices. */
export const settings = new Settings();
