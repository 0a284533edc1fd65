// The little geometry the screen needs, on a sphere. Good to 0.5 % of a distance, which is well
// below what a phone's position is worth.

/** Degrees. */
export type LonLat = readonly [lon: number, lat: number];

const EARTH_M = 6_371_008.8;
const RAD = Math.PI / 180;

/** From the wire's degrees times 10^7. */
export function fromE7(at: readonly [number, number]): LonLat {
  return [at[0] / 1e7, at[1] / 1e7];
}

/** Great-circle distance in metres. */
export function distanceM(a: LonLat, b: LonLat): number {
  const dLat = (b[1] - a[1]) * RAD;
  const dLon = (b[0] - a[0]) * RAD;
  const h = Math.sin(dLat / 2) ** 2 + Math.cos(a[1] * RAD) * Math.cos(b[1] * RAD) * Math.sin(dLon / 2) ** 2;
  return 2 * EARTH_M * Math.asin(Math.min(1, Math.sqrt(h)));
}

/** Initial bearing from `a` to `b`, degrees true, 0 to below 360. */
export function bearingDeg(a: LonLat, b: LonLat): number {
  const dLon = (b[0] - a[0]) * RAD;
  const y = Math.sin(dLon) * Math.cos(b[1] * RAD);
  const x =
    Math.cos(a[1] * RAD) * Math.sin(b[1] * RAD) -
    Math.sin(a[1] * RAD) * Math.cos(b[1] * RAD) * Math.cos(dLon);
  return (Math.atan2(y, x) / RAD + 360) % 360;
}
