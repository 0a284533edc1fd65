// Files of other programs into shapes of a site. What each file calls a thing does not tell what it
// is on the water, so a person says that; a file of ours says it itself.
import type Feature from "ol/Feature.js";
import GeoJSON from "ol/format/GeoJSON.js";
import GPX from "ol/format/GPX.js";
import KML from "ol/format/KML.js";
import Geometry from "ol/geom/Geometry.js";
import GeometryCollection from "ol/geom/GeometryCollection.js";
import LineString from "ol/geom/LineString.js";
import MultiLineString from "ol/geom/MultiLineString.js";
import MultiPoint from "ol/geom/MultiPoint.js";
import MultiPolygon from "ol/geom/MultiPolygon.js";
import Point from "ol/geom/Point.js";
import Polygon from "ol/geom/Polygon.js";

/** What a shape of the site can be. */
export const KINDS = ["sailing-area", "no-go", "landing", "shore", "mark"] as const;

/** One of them. */
export type Kind = (typeof KINDS)[number];

/** The map's own projection and the files'. */
const PROJECTIONS = { dataProjection: "EPSG:4326", featureProjection: "EPSG:3857" };

/** The features of a file, by its name's ending; empty when nothing in it can be used. */
export function readFile(name: string, text: string, lines: Kind): Feature[] {
  const format = formatOf(name);
  return format.readFeatures(text, PROJECTIONS).flatMap((feature) => {
    const geometry = feature.getGeometry();
    if (!(geometry instanceof Geometry)) return [];
    return parts(geometry).flatMap((part, n) => {
      const one = n === 0 ? (feature as Feature) : (feature as Feature).clone();
      one.setGeometry(part);
      return asSite(one, part, lines);
    });
  });
}

/** A folder of shapes under one name, one by one; areas in several parts stay one. */
function parts(geometry: Geometry): Geometry[] {
  if (geometry instanceof GeometryCollection) return geometry.getGeometries().flatMap(parts);
  return geometry instanceof MultiPoint ? geometry.getPoints() : [geometry];
}

function formatOf(name: string): GPX | KML | GeoJSON {
  if (/\.gpx$/i.test(name)) return new GPX();
  return /\.kml$/i.test(name) ? new KML({ extractStyles: false }) : new GeoJSON();
}

/** A walked line becomes the area inside it; points become marks. */
function asSite(feature: Feature, geometry: Geometry, lines: Kind): Feature[] {
  const said = KINDS.find((kind) => kind === feature.get("kind"));
  const name = String(feature.get("name") ?? "");
  if (geometry instanceof Point) {
    feature.setProperties({ kind: "mark", name });
    return [feature];
  }
  const kind = said ?? (lines === "mark" ? "sailing-area" : lines);
  if (geometry instanceof Polygon || geometry instanceof MultiPolygon) {
    feature.setProperties({ kind, name });
    return [feature];
  }
  const walked =
    geometry instanceof LineString
      ? [geometry.getCoordinates()]
      : geometry instanceof MultiLineString
        ? geometry.getCoordinates()
        : [];
  return walked.flatMap((line) => {
    const corners = line.map(([x = 0, y = 0]) => [x, y] as const);
    const [first, last] = [corners[0], corners.at(-1)];
    if (first === undefined || last === undefined) return [];
    // Who walked back to the first corner has closed it already.
    if (corners.length > 1 && first[0] === last[0] && first[1] === last[1]) corners.pop();
    if (corners.length < 3) return [];
    const area = feature.clone();
    area.setGeometry(new Polygon([[...corners, first].map(([x, y]) => [x, y])]));
    area.setProperties({ kind, name });
    return [area];
  });
}

/** The shapes as GeoJSON (RFC 7946), with nothing in them but kind and name. */
export function writeSite(features: readonly Feature[]): string {
  const bare = features.map((feature) => {
    const geometry = feature.getGeometry();
    const copy = feature.clone();
    copy.setProperties({ kind: feature.get("kind"), name: feature.get("name") ?? "" }, true);
    for (const key of Object.keys(copy.getProperties())) {
      if (key !== "geometry" && key !== "kind" && key !== "name") copy.unset(key, true);
    }
    if (geometry !== undefined) copy.setGeometry(geometry.clone());
    return copy;
  });
  return new GeoJSON().writeFeatures(bare, { ...PROJECTIONS, decimals: 7, rightHanded: true });
}
