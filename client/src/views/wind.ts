// The wind as believed, with its doubt, against the session's limit.
import { spanText } from "../clock.ts";
import { WIND_OLD_MS } from "../limits.ts";
import { word } from "../strings/index.ts";
import { bearingText, sector8, speedValue, windSpeedText } from "../units.ts";
import type { View } from "./context.ts";

/** Mean over the limit, only the gusts over it, neither, or not to be judged. */
export type AgainstLimit = "over" | "gusts-over" | "within" | "unknown" | "no-limit";

/** The wind tile. */
export interface WindTile {
  /** Where it comes from, for the arrow; `null`: not known. */
  readonly fromDeg: number | null;
  readonly direction: string;
  readonly speed: string;
  readonly gust: string;
  readonly lull: string;
  readonly doubt: string;
  readonly basis: string;
  readonly because: string;
  readonly trend: string;
  /** Its age when it is old; empty when fresh. */
  readonly old: string;
  readonly limit: string;
  readonly against: AgainstLimit;
}

/** The wind now; every part is a dash or empty where it is not known. */
export function windTile(view: View): WindTile {
  const { state, now, t, units } = view;
  const wind = state.wind;
  const limitKn = windLimit(view);
  const limit = limitKn === null ? t.wind.noLimit : windSpeedText(limitKn, units);
  if (wind === null) {
    return {
      fromDeg: null,
      direction: t.wind.unknown,
      speed: "",
      gust: "",
      lull: "",
      doubt: "",
      basis: "",
      because: t.wind.unknownWhy,
      trend: "",
      old: "",
      limit,
      against: limitKn === null ? "no-limit" : "unknown",
    };
  }
  const age = now - wind.heard_ms;
  return {
    fromDeg: wind.from_deg,
    direction: `${t.compass[sector8(wind.from_deg)]} ${bearingText(wind.from_deg)}`,
    speed: wind.speed_kn === null ? t.wind.speedUnknown : windSpeedText(wind.speed_kn, units),
    gust: wind.gust_kn === null ? "" : windSpeedText(wind.gust_kn, units),
    lull: wind.lull_kn === null ? "" : windSpeedText(wind.lull_kn, units),
    doubt: t.wind.doubt(Math.round(2 * wind.sd_deg)),
    basis: word(t.basis, wind.basis),
    because: wind.because,
    trend: trendWords(wind.trend_deg, view),
    old: age < WIND_OLD_MS ? "" : t.wind.old(spanText(age)),
    limit,
    against: againstLimit(wind.speed_kn, wind.gust_kn, limitKn),
  };
}

function trendWords(trendDeg: number | null, { t }: View): string {
  if (trendDeg === null) return "";
  const deg = Math.round(Math.abs(trendDeg));
  if (deg < 5) return t.wind.steady;
  return trendDeg > 0 ? t.wind.veering(deg) : t.wind.backing(deg);
}

/** The session's own limit, else the site's. */
export function windLimit({ state }: View): number | null {
  return state.day.session?.wind_limit_kn ?? state.setup.wind_limit_kn;
}

function againstLimit(speed: number | null, gust: number | null, limit: number | null): AgainstLimit {
  if (limit === null) return "no-limit";
  if (speed === null) return "unknown";
  if (speed > limit) return "over";
  return gust !== null && gust > limit ? "gusts-over" : "within";
}

/** Columns for the trend plot: seconds, mean, gust, limit. */
export type WindColumns = [number[], (number | null)[], (number | null)[], (number | null)[]];

/** How far back the plot goes. */
const SHOWN_MS = 20 * 60_000;

/** The last twenty minutes. */
export function windColumns(view: View): WindColumns {
  const limitKn = windLimit(view);
  const limit = limitKn === null ? null : speedValue(limitKn, view.units);
  const columns: WindColumns = [[], [], [], []];
  for (const [t, , mean, gust] of view.state.winds) {
    if (view.now - t > SHOWN_MS) continue;
    columns[0].push(t / 1000);
    columns[1].push(mean === null ? null : speedValue(mean, view.units));
    columns[2].push(gust === null ? null : speedValue(gust, view.units));
    columns[3].push(limit);
  }
  return columns;
}
