// The chart: what is in it, where it looks and how it is turned. Svelte knows only this class.

import {
  boundingExtent,
  buffer,
  containsExtent,
  type Extent,
  getArea,
  getHeight,
  getWidth,
  isEmpty,
} from "ol/extent.js";
import { defaults as defaultInteractions } from "ol/interaction/defaults.js";
import OlMap from "ol/Map.js";
import type MapBrowserEvent from "ol/MapBrowserEvent.js";
import { fromLonLat, toLonLat } from "ol/proj.js";
import View from "ol/View.js";
import { bearingDeg, distanceM, type LonLat } from "../../geo.ts";
import { bearingText, distanceText, type UnitSystem, wrap180 } from "../../units.ts";
import { type BoatShape, boatShapes, chartTurn } from "../../views/boats.ts";
import type { View as Sight } from "../../views/context.ts";
import type { SetupState } from "../../wire/SetupState.ts";
import type { Follow } from "../panel.svelte.ts";
import { BoatLayer, NARROW_PX, type Outline } from "./layer.ts";
import { readPalette } from "./palette.ts";
import { SiteLayer } from "./site.ts";

/** Reach of a wet finger. */
const REACH_PX = 36;

/** The chart is not turned for less than this: it would tremble with the wind. */
const TURN_FROM_DEG = 6;

/** The closest the chart goes by itself, metres a pixel. */
const CLOSEST = 0.35;

/** A chart lower than this has no room to waste at its edges. */
const LOW_PX = 260;

/** What the chart tells its owner. */
export interface ChartEvents {
  picked(ix: number): void;
  /** A hand has moved the chart. */
  freed(): void;
  /** A point was set; the words of the measure, empty until there are two. */
  measured(words: string): void;
  /** The chart was turned or zoomed. */
  moved(turnDeg: number, metresAPixel: number): void;
}

/** How to show it. */
export interface ChartChoice {
  readonly up: "north" | "wind" | "bow";
  readonly follow: Follow;
  readonly chosen: number | null;
  readonly measuring: boolean;
  /** The boat whose drift is drawn; `null`: nobody's. */
  readonly inNeed: number | null;
  /** The buttons are on the left. */
  readonly left: boolean;
  /** How wide they are. */
  readonly toolsPx: number;
}

/** The chart. */
export class Chart {
  #boats = new BoatLayer();
  #site = new SiteLayer();
  #map: OlMap;
  #setup: SetupState | null = null;
  #events: ChartEvents;
  #choice: ChartChoice | null = null;
  #measure: LonLat[] = [];
  #units: UnitSystem = "nautical";
  #fitted = false;
  /** It has looked at something before. */
  #begun = false;
  /** The base map was asked for. */
  #asked = false;
  #calm = matchMedia("(prefers-reduced-motion: reduce)").matches;

  constructor(target: HTMLElement, events: ChartEvents) {
    this.#events = events;
    this.#map = new OlMap({
      target,
      controls: [],
      layers: [this.#site.layer, this.#boats.layer],
      interactions: defaultInteractions({ altShiftDragRotate: false, pinchRotate: false }),
      view: new View({ center: [0, 0], zoom: 2, maxZoom: 21, constrainRotation: false }),
    });
    this.#map.on("singleclick", (event) => this.#clicked(event));
    this.#map.on("pointerdrag", () => this.#events.freed());
    target.addEventListener("wheel", () => this.#events.freed(), { passive: true });
    const view = this.#map.getView();
    const moved = () => this.#events.moved((-view.getRotation() * 180) / Math.PI, this.#metresAPixel());
    view.on("change:rotation", moved);
    view.on("change:resolution", moved);
    // A metre is as many pixels as the latitude makes it.
    view.on("change:center", moved);
    this.#map.on("change:size", () => {
      this.#fitted = false;
    });
  }

  destroy(): void {
    this.#map.setTarget(undefined);
    this.#map.dispose();
  }

  repaint(): void {
    this.#site.repaint();
    this.#boats.repaint();
  }

  zoomBy(step: number): void {
    this.#events.freed();
    const view = this.#map.getView();
    view.animate({ zoom: (view.getZoom() ?? 15) + step, duration: this.#calm ? 0 : 150 });
  }

  /** Draws this sight in this way. */
  show(sight: Sight, choice: ChartChoice): void {
    const { state } = sight;
    this.#units = sight.units;
    if (state.setup !== this.#setup) {
      this.#setup = state.setup;
      this.#site.show(state.setup);
      this.#fitted = false;
      if (state.setup.base_map && !this.#asked) void this.#layBaseMap();
    }
    if (!choice.measuring) this.#measure = [];
    const before = this.#choice;
    if (before === null || choice.follow !== before.follow || this.#about(choice) !== this.#about(before))
      this.#fitted = false;
    this.#choice = choice;
    const boats = boatShapes(sight);
    this.#boats.scene = {
      boats,
      trails: state.trails,
      drift: driftOutlines(sight, choice.inNeed),
      chosen: choice.chosen,
      measure: { points: this.#measure, words: this.#measureWords() },
      now: sight.now,
      tools: choice.left ? "left" : "right",
      toolsPx: choice.toolsPx,
    };
    this.#turn(chartTurn(sight, choice.up) ?? 0);
    this.#look(boats, choice, sight.own);
    this.#boats.redraw();
  }

  async #layBaseMap(): Promise<void> {
    this.#asked = true;
    const { baseMap } = await import("./basemap.ts");
    const layer = await baseMap(readPalette());
    if (layer === null) return;
    this.#map.getLayers().insertAt(0, layer);
    this.#site.showMapBelow();
  }

  #turn(headingUp: number): void {
    const view = this.#map.getView();
    const now = (-view.getRotation() * 180) / Math.PI;
    const by = wrap180(headingUp - now);
    if (Math.abs(by) < (headingUp === 0 ? 0.1 : TURN_FROM_DEG) || view.getAnimating()) return;
    const rotation = (-(now + by) * Math.PI) / 180;
    if (this.#calm) view.setRotation(rotation);
    else view.animate({ rotation, duration: 300 });
  }

  #look(boats: readonly BoatShape[], choice: ChartChoice, own: number | null): void {
    const { follow, inNeed } = choice;
    // Where a hand has put it, it stays.
    if (follow === "free" && this.#begun) return;
    const about = this.#about(choice);
    const shown = boats.filter((boat) =>
      about !== null
        ? boat.ix === about || boat.ix === own
        : follow === "us"
          ? boat.ix === own
          : follow === "need"
            ? boat.ix === inNeed || boat.ix === own
            : !boat.ashore && !boat.station,
    );
    const extent = this.#extentOf(shown);
    if (extent === null) return;
    const view = this.#map.getView();
    const size = this.#map.getSize();
    if (size === undefined || view.getAnimating()) return;
    if (this.#fitted) {
      // Only a boat near the edge, or a chart far too wide, is a reason to move it under the eyes.
      const seen = view.calculateExtent(size);
      const inner = buffer(seen, -0.08 * Math.min(getWidth(seen), getHeight(seen)));
      const wide = getArea(extent) < getArea(seen) * 0.04 && (view.getResolution() ?? 0) > 1.1 * CLOSEST;
      if (containsExtent(inner, extent) && !wide) return;
    }
    view.fit(extent, {
      // The view learns of its size with the first frame only.
      size,
      padding: this.#margins(size),
      minResolution: CLOSEST,
      duration: this.#fitted && !this.#calm ? 400 : 0,
    });
    this.#fitted = true;
    this.#begun = true;
  }

  /** On a low chart everybody would be a heap: the boat that the panel is about is shown, with us. */
  #about({ follow, chosen }: ChartChoice): number | null {
    const isLow = (this.#map.getSize()?.[1] ?? 0) < LOW_PX;
    return isLow && follow === "all" ? chosen : null;
  }

  /** Room for plates, and for the buttons that lie over the chart on one side or below. */
  #margins([width = 0, height = 0]: number[]): [number, number, number, number] {
    if (width < NARROW_PX) return height < LOW_PX ? [28, 44, 64, 44] : [44, 60, 76, 44];
    const tools = (this.#choice?.toolsPx ?? 0) + 60;
    return this.#choice?.left === true ? [70, 100, 80, tools] : [70, tools, 80, 100];
  }

  #extentOf(boats: readonly BoatShape[]): Extent | null {
    const extent = boundingExtent(boats.map((boat) => fromLonLat([boat.at[0], boat.at[1]])));
    if (!isEmpty(extent) || boats.length > 0) return buffer(extent, 60);
    const site = this.#site.source.getExtent();
    return site === null || isEmpty(site) ? null : site;
  }

  #clicked(event: MapBrowserEvent): void {
    if (this.#choice?.measuring === true) {
      const [lon = 0, lat = 0] = toLonLat(event.coordinate);
      this.#measure = this.#measure.length >= 2 ? [[lon, lat]] : [...this.#measure, [lon, lat]];
      this.#events.measured(this.#measureWords());
      return;
    }
    const ix = this.#boats.hit(event.pixel, REACH_PX);
    if (ix !== null) this.#events.picked(ix);
  }

  #measureWords(): string {
    const [from, to] = this.#measure;
    if (from === undefined || to === undefined) return "";
    return `${distanceText(distanceM(from, to), this.#units)}, ${bearingText(bearingDeg(from, to))}`;
  }

  #metresAPixel(): number {
    const view = this.#map.getView();
    const [, lat = 0] = toLonLat(view.getCenter() ?? [0, 0]);
    return (view.getResolution() ?? 1) * Math.cos((lat * Math.PI) / 180);
  }
}

function driftOutlines({ state, t }: Sight, inNeed: number | null): Outline[] {
  const need = state.needs.find((each) => each.boat === inNeed);
  return (need?.drift ?? []).map(({ minutes, ring }) => ({ ring, words: t.chart.drift(minutes) }));
}
