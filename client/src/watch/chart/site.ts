// The site as the set-up gives it: areas, no-go zones, landing places, shore and marks.
import Feature, { type FeatureLike } from "ol/Feature.js";
import MultiPolygon from "ol/geom/MultiPolygon.js";
import Point from "ol/geom/Point.js";
import Polygon from "ol/geom/Polygon.js";
import VectorLayer from "ol/layer/Vector.js";
import { fromLonLat } from "ol/proj.js";
import VectorSource from "ol/source/Vector.js";
import { Fill, RegularShape, Stroke, Style, Text } from "ol/style.js";
import type { SetupState } from "../../wire/SetupState.ts";
import type { ZoneShape } from "../../wire/ZoneShape.ts";
import { type Palette, readPalette } from "./palette.ts";

/** The layer of the site as it is in force. */
export class SiteLayer {
  readonly source = new VectorSource();
  #drawn = siteLayer(this.source);
  readonly layer = this.#drawn.layer;

  /** Draws this set-up instead of the one before. */
  show(setup: SetupState): void {
    this.source.clear();
    for (const zone of setup.zones) this.source.addFeature(zoneFeature(zone));
    for (const mark of setup.marks) {
      const feature = new Feature(new Point(fromLonLat([mark.at[0], mark.at[1]])));
      feature.setProperties({ kind: "mark", name: mark.name });
      this.source.addFeature(feature);
    }
  }

  /** With a map below, water and land are the map's: only lines and names are drawn. */
  showMapBelow(): void {
    this.#drawn.repaint(true);
  }

  repaint(): void {
    this.#drawn.repaint();
  }
}

/** A layer that draws features by their `kind`, in the theme's colours. */
export function siteLayer(source: VectorSource): {
  layer: VectorLayer;
  repaint: (mapBelow?: boolean) => void;
} {
  const layer = new VectorLayer({ source, zIndex: 1, declutter: true });
  let isMapBelow = false;
  const repaint = (mapBelow = isMapBelow) => {
    isMapBelow = mapBelow;
    const palette = readPalette();
    layer.setStyle(siteStyle(mapBelow ? { ...palette, area: "transparent", land: "transparent" } : palette));
  };
  repaint();
  return { layer, repaint };
}

function siteStyle(palette: Palette): (feature: FeatureLike) => Style | Style[] {
  const styles = {
    "sailing-area": zoneStyle(palette.area, palette["area-line"], undefined, 1),
    "no-go": zoneStyle(hatch(palette["no-go"]), palette["no-go"], undefined, 3),
    landing: zoneStyle("transparent", palette.landing, [10, 6], 4),
    shore: zoneStyle(palette.land, palette.edge, undefined, 0),
    mark: markStyle(palette),
  };
  return (feature) => {
    const kind = String(feature.get("kind"));
    const style = styles[kind as keyof typeof styles] ?? styles["sailing-area"];
    const text = style.getText();
    text?.setText(String(feature.get("name") ?? ""));
    text?.setFill(new Fill({ color: palette[kind === "no-go" ? "no-go" : "quiet"] }));
    text?.setStroke(new Stroke({ color: palette.bg, width: 4 }));
    const end = kind === "sailing-area" ? northEnd(feature) : undefined;
    if (end === undefined || text === null || text === undefined) return style;
    // In its middle an area's name would lie under the boats.
    const plain = style.clone();
    plain.setText(new Text());
    text.setOffsetY(18);
    return [plain, new Style({ geometry: end, text, zIndex: 1 })];
  };
}

/** An edge between two corners this near each other in northing, as a part of its length, is level. */
const LEVEL = 0.1;

/** The northernmost corner of an area; the middle of its north edge when that is level. */
function northEnd(feature: FeatureLike): Point | undefined {
  const geometry = feature.getGeometry();
  if (!(geometry instanceof MultiPolygon || geometry instanceof Polygon)) return undefined;
  const flat = geometry.getFlatCoordinates();
  let best = 0;
  for (let at = 0; at < flat.length; at += 2) if ((flat[at + 1] ?? 0) > (flat[best + 1] ?? 0)) best = at;
  const corner = (at: number): [number, number] => [flat[at] ?? 0, flat[at + 1] ?? 0];
  const top = corner(best);
  for (const next of [best - 2, best + 2]) {
    if (next < 0 || next >= flat.length) continue;
    const [x, y] = corner(next);
    const long = Math.abs(top[0] - x);
    // A name over the corner of a square would stick out of it, and out of the chart.
    if (long > 0 && top[1] - y < LEVEL * long) return new Point([(top[0] + x) / 2, (top[1] + y) / 2]);
  }
  return new Point(top);
}

function zoneFeature(zone: ZoneShape): Feature {
  const polygons = zone.polygons.map((rings) =>
    rings.map((ring) => ring.map((at) => fromLonLat([at[0], at[1]]))),
  );
  const feature = new Feature(new MultiPolygon(polygons));
  feature.setProperties({ kind: zone.zone, name: zone.name });
  return feature;
}

function zoneStyle(fill: string | CanvasPattern, line: string, dash: number[] | undefined, z: number): Style {
  const stroke = new Stroke({ color: line, width: 3, ...(dash === undefined ? {} : { lineDash: dash }) });
  const text = new Text({ font: "650 15px system-ui, sans-serif", overflow: true });
  return new Style({ fill: new Fill({ color: fill }), stroke, text, zIndex: z });
}

function markStyle(palette: Palette): Style {
  const image = new RegularShape({
    points: 4,
    radius: 10,
    fill: new Fill({ color: palette.bg }),
    stroke: new Stroke({ color: palette.ink, width: 3 }),
  });
  return new Style({
    image,
    text: new Text({ font: "650 14px system-ui, sans-serif", offsetY: 20 }),
    zIndex: 5,
  });
}

/** Slanting lines: a no-go zone is known without its colour. */
function hatch(colour: string): CanvasPattern | string {
  const tile = document.createElement("canvas");
  tile.width = tile.height = 14;
  const ctx = tile.getContext("2d");
  if (ctx === null) return colour;
  ctx.strokeStyle = colour;
  ctx.globalAlpha = 0.55;
  ctx.lineWidth = 2;
  ctx.beginPath();
  for (const x of [-14, 0, 14]) {
    ctx.moveTo(x, 14);
    ctx.lineTo(x + 14, 0);
  }
  ctx.stroke();
  return ctx.createPattern(tile, "repeat") ?? colour;
}
