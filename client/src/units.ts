// The only formatting of quantities. Inside: knots, metres, degrees true. Unknown is a dash, never 0.

/** `nautical`: knots, nautical miles and metres. `metric`: metres a second, kilometres and metres. */
export type UnitSystem = "nautical" | "metric";

/** What is written where a value is not known. */
export const UNKNOWN = "–";

const MPS_PER_KN = 1852 / 3600;
const M_PER_NM = 1852;

/** Metres in a second at one knot. */
export function mpsFromKn(kn: number): number {
  return kn * MPS_PER_KN;
}

/** `4.2 kn` or `2.2 m/s`; a dash when not known. */
export function speedText(kn: number | null | undefined, units: UnitSystem): string {
  if (kn === null || kn === undefined) return UNKNOWN;
  return units === "nautical" ? `${kn.toFixed(1)} kn` : `${mpsFromKn(kn).toFixed(1)} m/s`;
}

/** Wind is never better than a whole knot or half a metre a second. */
export function windSpeedText(kn: number | null | undefined, units: UnitSystem): string {
  if (kn === null || kn === undefined) return UNKNOWN;
  return units === "nautical"
    ? `${Math.round(kn)} kn`
    : `${(Math.round(mpsFromKn(kn) * 2) / 2).toFixed(1)} m/s`;
}

/** A number of knots in the chosen system, for plots. */
export function speedValue(kn: number, units: UnitSystem): number {
  return units === "nautical" ? kn : mpsFromKn(kn);
}

/** `kn` or `m/s`. */
export function speedUnit(units: UnitSystem): string {
  return units === "nautical" ? "kn" : "m/s";
}

/** `85 m`, `340 m`, `0.84 nm`, `1.6 km`: no more figures than the position is worth. */
export function distanceText(metres: number | null | undefined, units: UnitSystem): string {
  if (metres === null || metres === undefined) return UNKNOWN;
  if (metres < 100) return `${Math.round(metres / 5) * 5} m`;
  if (metres < 1000) return `${Math.round(metres / 10) * 10} m`;
  return units === "nautical" ? `${(metres / M_PER_NM).toFixed(2)} nm` : `${(metres / 1000).toFixed(1)} km`;
}

/** `047°`; true unless a label says otherwise. */
export function bearingText(deg: number | null | undefined): string {
  if (deg === null || deg === undefined) return UNKNOWN;
  return `${String(Math.round(wrap360(deg)) % 360).padStart(3, "0")}°`;
}

/** `54°05.91'N 003°11.64'E`: as a position is read out by radio; to about 20 m. */
export function positionText([lon, lat]: readonly [number, number]): string {
  return `${minutesText(lat, 2, "N", "S")} ${minutesText(lon, 3, "E", "W")}`;
}

function minutesText(degrees: number, wide: number, positive: string, negative: string): string {
  // Rounded first, so that no 60.00 minutes come out.
  const hundredths = Math.round(Math.abs(degrees) * 6_000);
  const whole = String(Math.floor(hundredths / 6_000)).padStart(wide, "0");
  const minutes = ((hundredths % 6_000) / 100).toFixed(2).padStart(5, "0");
  return `${whole}°${minutes}'${degrees < 0 ? negative : positive}`;
}

/** Wraps into 0 to below 360. */
export function wrap360(deg: number): number {
  return ((deg % 360) + 360) % 360;
}

/** Wraps into above -180 to 180. */
export function wrap180(deg: number): number {
  const wrapped = wrap360(deg);
  return wrapped > 180 ? wrapped - 360 : wrapped;
}

/** The hour, 1 to 12, at which something bears from our bow: 12 is ahead, 3 on the starboard beam. */
export function clockHour(bearingDeg: number, headingDeg: number): number {
  const hour = Math.round(wrap360(bearingDeg - headingDeg) / 30) % 12;
  return hour === 0 ? 12 : hour;
}

/** The eight-point sector of a direction: 0 north, 1 north-east ... 7 north-west. */
export function sector8(deg: number): number {
  return Math.round(wrap360(deg) / 45) % 8;
}

/** Time to get there: `40 s`, `1 min 20`, `12 min`. */
export function etaText(seconds: number | null | undefined): string {
  if (seconds === null || seconds === undefined) return UNKNOWN;
  if (seconds < 60) return `${Math.max(5, Math.round(seconds / 5) * 5)} s`;
  const rounded = Math.round(seconds / 10) * 10;
  if (rounded < 600) {
    const rest = rounded % 60;
    return rest === 0
      ? `${rounded / 60} min`
      : `${Math.floor(rounded / 60)} min ${String(rest).padStart(2, "0")}`;
  }
  return `${Math.round(seconds / 60)} min`;
}
