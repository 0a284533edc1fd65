import { en, type Strings } from "./en.ts";
import { nl } from "./nl.ts";

export type { Strings };

/** Every language there is, by its code. */
export const languages = { en, nl } as const satisfies Record<string, Strings>;

/** The code of a language. */
export type Language = keyof typeof languages;

/** The word for a key; a key that the server has learnt since this page was built stands for itself. */
export function word(table: Record<string, string>, key: string): string {
  return table[key] ?? key;
}
