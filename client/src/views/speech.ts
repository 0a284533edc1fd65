// What is said aloud and to a screen reader about an alert.
import { type Strings, word } from "../strings/index.ts";
import { sector8, type UnitSystem } from "../units.ts";
import type { View } from "./context.ts";
import { boatId, whose } from "./context.ts";

/** "Seven. Possible capsize. North-east, three hundred metres." Empty for an alert that is gone. */
export function alertSpeech(view: View, alertId: number): string {
  const { state, t, own } = view;
  const alert = state.alerts.get(alertId);
  if (alert === undefined) return "";
  const need = state.needs.find((each) => each.alert === alertId);
  const way = need?.ways.find((each) => each.safety === own) ?? need?.ways[0];
  const who = spokenId(whose(state, alert, t), t);
  const parts = [who, word(t.about, alert.about)];
  const short = need === undefined || alert.heads === null ? 0 : need.persons - alert.heads;
  if (short > 0) parts.push(t.speech.headsMissing(short));
  if (way !== undefined && way.safety === own) {
    const sector = t.compassSpoken[sector8(way.bearing_deg)] ?? "";
    parts.push(`${capital(sector)}, ${spokenDistance(way.distance_m, t, view.units)}`);
  }
  return `${parts.join(". ")}.`;
}

/** "Robin sends us to seven." */
export function sentSpeech({ state, t }: View, by: string, boat: number): string {
  return t.speech.sent(by, spokenId(boatId(state, boat), t));
}

/** "07" is said "Seven", "S1" is spelt. */
export function spokenId(id: string, t: Strings): string {
  if (/^\d+$/.test(id)) {
    const n = Number(id);
    return capital(t.digits[n] ?? String(n));
  }
  return id.replace(/(\D)(\d)/g, "$1 $2");
}

/** Round figures, in whole hundreds where that is near enough. */
export function spokenDistance(metres: number, t: Strings, units: UnitSystem): string {
  if (metres < 75) return t.speech.near;
  if (metres >= 1_000 && units === "metric") return t.speech.kilometres((metres / 1000).toFixed(1));
  if (metres >= 1_000) return t.speech.miles((metres / 1852).toFixed(1));
  const fifties = Math.round(metres / 50) * 50;
  const hundreds = fifties / 100;
  const name = t.speech.numbers[hundreds];
  return name === undefined || name === "" ? t.speech.metres(fifties) : t.speech.hundreds(name);
}

function capital(words: string): string {
  return words.slice(0, 1).toUpperCase() + words.slice(1);
}
