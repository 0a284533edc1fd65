// Drawing a site on the chart with a finger.

import { isEmpty } from "ol/extent.js";
import Feature from "ol/Feature.js";
import GeoJSON from "ol/format/GeoJSON.js";
import Point from "ol/geom/Point.js";
import Draw from "ol/interaction/Draw.js";
import { defaults as defaultInteractions } from "ol/interaction/defaults.js";
import Modify from "ol/interaction/Modify.js";
import Select from "ol/interaction/Select.js";
import OlMap from "ol/Map.js";
import { fromLonLat } from "ol/proj.js";
import VectorSource from "ol/source/Vector.js";
import { Fill, RegularShape, Stroke, Style } from "ol/style.js";
import View from "ol/View.js";
import { readPalette } from "../watch/chart/palette.ts";
import { siteLayer } from "../watch/chart/site.ts";
import { type Kind, writeSite } from "./reading.ts";

/** Reach of a finger, pixels. */
const REACH_PX = 24;

/** States kept for taking back. */
const UNDO_MAX = 50;

/** What the drawing tells its owner. */
export interface DrawingEvents {
  /** The shapes changed. */
  changed(): void;
  /** One shape is chosen, or none. */
  chosen(feature: Feature | null): void;
}

/** The drawing. */
export class Drawing {
  readonly source = new VectorSource();
  #map: OlMap;
  #site = siteLayer(this.source);
  #draw: Draw | null = null;
  #select: Select;
  #events: DrawingEvents;
  #past: string[] = [];
  #format = new GeoJSON();

  constructor(target: HTMLElement, events: DrawingEvents) {
    this.#events = events;
    this.#map = new OlMap({
      target,
      controls: [],
      layers: [this.#site.layer],
      interactions: defaultInteractions({ altShiftDragRotate: false, pinchRotate: false }),
      view: new View({ center: [0, 0], zoom: 2, maxZoom: 21 }),
    });
    this.#select = new Select({ layers: [this.#site.layer], hitTolerance: REACH_PX, style: chosenStyle() });
    const modify = new Modify({ source: this.source, pixelTolerance: REACH_PX });
    modify.on("modifystart", () => this.#remember());
    modify.on("modifyend", () => events.changed());
    this.#select.on("select", () => events.chosen(this.chosen));
    this.#map.addInteraction(this.#select);
    this.#map.addInteraction(modify);
  }

  destroy(): void {
    this.#map.setTarget(undefined);
    this.#map.dispose();
  }

  get chosen(): Feature | null {
    return this.#select.getFeatures().getArray()[0] ?? null;
  }

  /** Replaces everything, and looks at it; not to be taken back. */
  load(geojson: string): void {
    this.source.clear();
    this.source.addFeatures(
      this.#format.readFeatures(geojson, { featureProjection: "EPSG:3857" }) as Feature[],
    );
    this.#past = [];
    this.look();
  }

  look(): void {
    const extent = this.source.getExtent();
    if (extent !== null && !isEmpty(extent)) {
      this.#map.getView().fit(extent, { padding: [40, 40, 40, 40], maxZoom: 19 });
    }
  }

  /** Where to look when nothing is drawn yet. */
  lookAt(lon: number, lat: number): void {
    this.#map.getView().setCenter(fromLonLat([lon, lat]));
    this.#map.getView().setZoom(16);
  }

  /** Begins to draw a shape; `null` ends drawing. */
  begin(kind: Kind | null, name: () => string): void {
    if (this.#draw !== null) this.#map.removeInteraction(this.#draw);
    this.#draw = null;
    this.#select.setActive(kind === null);
    if (kind === null) return;
    this.#select.getFeatures().clear();
    const draw = new Draw({
      type: kind === "mark" ? "Point" : "Polygon",
      source: this.source,
      snapTolerance: REACH_PX,
    });
    draw.on("drawend", ({ feature }) => {
      this.#remember();
      feature.setProperties({ kind, name: name() });
      this.#events.changed();
    });
    this.#draw = draw;
    this.#map.addInteraction(draw);
  }

  /** Adds a corner at a measured place, for an area that is walked or driven round. */
  corner(lon: number, lat: number): void {
    this.#draw?.appendCoordinates([fromLonLat([lon, lat])]);
    this.lookAt(lon, lat);
  }

  /** Closes the shape that is being drawn. */
  finish(): void {
    this.#draw?.finishDrawing();
  }

  add(features: readonly Feature[]): void {
    this.#remember();
    this.source.addFeatures([...features]);
    this.look();
    this.#events.changed();
  }

  addMark(lon: number, lat: number, name: string): void {
    const feature = new Feature(new Point(fromLonLat([lon, lat])));
    feature.setProperties({ kind: "mark", name });
    this.add([feature]);
  }

  rename(feature: Feature, name: string): void {
    this.#remember();
    feature.set("name", name);
    this.#events.changed();
  }

  remove(feature: Feature): void {
    this.#remember();
    this.#select.getFeatures().clear();
    this.source.removeFeature(feature);
    this.#events.chosen(null);
    this.#events.changed();
  }

  get canUndo(): boolean {
    return this.#past.length > 0;
  }

  undo(): void {
    const before = this.#past.pop();
    if (before === undefined) return;
    this.#select.getFeatures().clear();
    this.source.clear();
    this.source.addFeatures(
      this.#format.readFeatures(before, { featureProjection: "EPSG:3857" }) as Feature[],
    );
    this.#events.chosen(null);
    this.#events.changed();
  }

  write(): string {
    return writeSite(this.source.getFeatures());
  }

  #remember(): void {
    this.#past.push(this.write());
    if (this.#past.length > UNDO_MAX) this.#past.shift();
  }
}

function chosenStyle(): Style {
  const palette = readPalette();
  return new Style({
    stroke: new Stroke({ color: palette.act, width: 6, lineDash: [12, 6] }),
    fill: new Fill({ color: "rgba(0, 0, 0, 0.08)" }),
    image: new RegularShape({ points: 4, radius: 16, stroke: new Stroke({ color: palette.act, width: 5 }) }),
    zIndex: 9,
  });
}
