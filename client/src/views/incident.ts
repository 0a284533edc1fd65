// The track of an incident as a picture: metres about its middle, north up.
import { clockText } from "../clock.ts";
import { fromE7 } from "../geo.ts";
import type { Incident } from "../wire/Incident.ts";
import type { LogLine } from "../wire/LogLine.ts";

/** One place on the picture, in its own units. */
export interface Spot {
  readonly x: number;
  readonly y: number;
  readonly words: string;
}

/** The picture. */
export interface TrackPicture {
  /** Points of an SVG polyline for each part of the track without a hole, in a square of `PICTURE_UNITS`. */
  readonly parts: readonly string[];
  readonly spots: readonly Spot[];
  /** A round distance and its length in the picture's units. */
  readonly scale: { readonly metres: number; readonly units: number };
}

/** The side of the picture. */
export const PICTURE_UNITS = 400;

/** Clear of the arrow to the north and of a label at the edge. */
const MARGIN = 48;
const M_PER_DEG = 111_320;
/** Reports further apart in time are not joined by a line. The server keeps one point each 5 s. */
const HOLE_MS = 30_000;
const ROUND_M = [10, 20, 50, 100, 200, 500, 1_000, 2_000];

/**
 * Who did what, oldest first: the papers' lines and those of the tablet's own log, which knows who
 * saw the alert, who went and how many heads were counted.
 */
export function whoDidWhat(
  { alert, log, from_ms, until_ms }: Incident,
  shown: readonly LogLine[],
): LogLine[] {
  const about = shown.filter(
    (line) =>
      (line.alert === alert.id || (alert.boat !== null && line.boat === alert.boat)) &&
      line.at_ms >= from_ms &&
      // The line that ends it comes a moment after the end.
      line.at_ms <= until_ms + 1_000,
  );
  const lines = new Map([...log, ...about].map((line) => [`${line.at_ms} ${line.by} ${line.text}`, line]));
  return [...lines.values()].sort((a, b) => a.at_ms - b.at_ms);
}

/** The picture of an incident; `null` without a track. */
export function trackPicture(incident: Incident): TrackPicture | null {
  const points = incident.track.map(([t, lon, lat]) => ({ t, at: fromE7([lon, lat]) }));
  const first = points[0];
  if (first === undefined) return null;
  const [lons, lats] = [points.map(({ at }) => at[0]), points.map(({ at }) => at[1])];
  const [west, east] = [Math.min(...lons), Math.max(...lons)];
  const [south, north] = [Math.min(...lats), Math.max(...lats)];
  const shrink = Math.cos((((south + north) / 2) * Math.PI) / 180);
  const spanM = Math.max(20, (east - west) * M_PER_DEG * shrink, (north - south) * M_PER_DEG);
  const unitsAMetre = (PICTURE_UNITS - 2 * MARGIN) / spanM;
  const place = (at: readonly [number, number]) => ({
    x: PICTURE_UNITS / 2 + (at[0] - (west + east) / 2) * M_PER_DEG * shrink * unitsAMetre,
    y: PICTURE_UNITS / 2 - (at[1] - (south + north) / 2) * M_PER_DEG * unitsAMetre,
  });
  const parts: string[][] = [];
  let before = Number.NEGATIVE_INFINITY;
  for (const { t, at } of points) {
    if (t - before > HOLE_MS) parts.push([]);
    const { x, y } = place(at);
    parts.at(-1)?.push(`${x.toFixed(1)},${y.toFixed(1)}`);
    before = t;
  }
  const last = points.at(-1) ?? first;
  const began = points.find(({ t }) => t >= incident.alert.began_ms) ?? last;
  const spots = [began, last].map(({ t, at }) => ({ ...place(at), words: clockText(t) }));
  const metres = ROUND_M.findLast((each) => each <= spanM / 2) ?? 10;
  return {
    parts: parts.map((part) => part.join(" ")),
    spots,
    scale: { metres, units: metres * unitsAMetre },
  };
}
