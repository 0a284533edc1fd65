// Our own canvas over the map: trails, drift areas, rings, boats and their plates.
import Layer from "ol/layer/Layer.js";
import type { FrameState } from "ol/Map.js";
import type { LonLat } from "../../geo.ts";
import { TRAIL_CHOSEN_MS, TRAIL_SHOWN_MS } from "../../limits.ts";
import type { TrailPoint } from "../../store.ts";
import type { BoatShape } from "../../views/boats.ts";
import { drawBoat, hullPx } from "./draw.ts";
import { type Palette, readPalette } from "./palette.ts";
import { type Box, type Plate, placePlates, type Sheet } from "./plates.ts";
import { onPixel } from "./stamps.ts";

/** An outline with words, in lon/lat. */
export interface Outline {
  readonly ring: readonly LonLat[];
  readonly words: string;
}

/** All that the layer draws. */
export interface Scene {
  readonly boats: readonly BoatShape[];
  readonly trails: ReadonlyMap<number, readonly TrailPoint[]>;
  readonly drift: readonly Outline[];
  readonly chosen: number | null;
  readonly measure: { readonly points: readonly LonLat[]; readonly words: string };
  readonly now: number;
  /** Which side the chart's buttons lie on; plates keep clear of them. */
  readonly tools: "left" | "right";
  readonly toolsPx: number;
}

type Pixel = [number, number];

/** Below this width the buttons lie along the foot of the chart. */
export const NARROW_PX = 600;

/** What the buttons cover: beside them a little air. */
const TOOLS_AIR_PX = 16;
const TOOLS_HIGH_PX = 60;
/** The scale lies at the head of a narrow chart, unless that is too low for it. */
const SCALE_PX: readonly [wide: number, high: number] = [160, 30];
const SCALE_FROM_PX = 220;
/** The wind's arrow and the button that turns the chart lie in its corners. */
const ARROW_PX = 64;
const TURN_PX = 60;

/** Trails grow by a point a second; drawing them with every report was a quarter of the chart's cost. */
const TRAILS_EVERY_MS = 1_000;

/** Alphas of a trail from its newest to its oldest third. */
const FADES = [0.9, 0.55, 0.25];

/** The layer. It draws when the map does; whoever changes the scene asks the map to draw. */
export class BoatLayer {
  readonly layer: Layer;
  scene: Scene | null = null;
  /** Both canvases, the trails' below. */
  #sheet = document.createElement("div");
  #canvas = document.createElement("canvas");
  #trailCanvas = document.createElement("canvas");
  /** The view, the boat and the time for which the trails lie there. */
  #trailsOf = { view: "", chosen: null as number | null, at: Number.NEGATIVE_INFINITY };
  #palette: Palette = readPalette();
  #hits: { ix: number; at: Pixel }[] = [];
  #frame: FrameState | null = null;

  constructor() {
    this.#canvas.className = "boat-canvas";
    for (const canvas of [this.#trailCanvas, this.#canvas]) {
      canvas.style.position = "absolute";
      canvas.setAttribute("aria-hidden", "true");
      this.#sheet.append(canvas);
    }
    this.#sheet.style.position = "absolute";
    this.layer = new Layer({ render: (frame) => this.#render(frame), zIndex: 10 });
  }

  repaint(): void {
    this.#palette = readPalette();
    this.#trailsOf.view = "";
    this.redraw();
  }

  /** Draws the scene anew where the map last looked; the map itself is left as it is. */
  redraw(): void {
    if (this.#frame === null) this.layer.changed();
    else this.#render(this.#frame);
  }

  /** The boat under a finger: the nearest within `reach` pixels; `null`: none. */
  hit(pixel: readonly number[], reach: number): number | null {
    let best: number | null = null;
    let bestDistance = reach;
    for (const { ix, at } of this.#hits) {
      const distance = Math.hypot(at[0] - (pixel[0] ?? 0), at[1] - (pixel[1] ?? 0));
      if (distance <= bestDistance) {
        best = ix;
        bestDistance = distance;
      }
    }
    return best;
  }

  #render(frame: FrameState | null): HTMLElement {
    const ctx = this.#canvas.getContext("2d");
    this.#frame = frame;
    if (ctx === null || frame === null || this.scene === null) return this.#sheet;
    const [width = 0, height = 0] = frame.size;
    clear(ctx, frame);
    const pixelOf = pixels(frame);
    const turnDeg = (-frame.viewState.rotation * 180) / Math.PI;
    this.#layTrails(this.scene, frame, pixelOf);
    this.#drift(ctx, this.scene, pixelOf);
    this.#boats(ctx, this.scene, pixelOf, turnDeg, frame, clearOfTools(width, height, this.scene));
    this.#measure(ctx, this.scene, pixelOf);
    return this.#sheet;
  }

  /** Draws the trails when they have grown, or lie for another view. */
  #layTrails(scene: Scene, frame: FrameState, pixelOf: (at: LonLat) => Pixel): void {
    const ctx = this.#trailCanvas.getContext("2d");
    const view = [...frame.coordinateToPixelTransform, ...frame.size, frame.pixelRatio].join(" ");
    const { view: before, chosen, at } = this.#trailsOf;
    const isYoung = scene.now >= at && scene.now < at + TRAILS_EVERY_MS;
    if (ctx === null || (view === before && scene.chosen === chosen && isYoung)) return;
    this.#trailsOf = { view, chosen: scene.chosen, at: scene.now };
    clear(ctx, frame);
    this.#trails(ctx, scene, pixelOf);
  }

  #drift(ctx: CanvasRenderingContext2D, scene: Scene, pixelOf: (at: LonLat) => Pixel): void {
    ctx.setLineDash([10, 6]);
    ctx.lineWidth = 2.5;
    for (const [index, { ring, words }] of scene.drift.entries()) {
      ctx.beginPath();
      let top: Pixel = [0, Number.POSITIVE_INFINITY];
      for (const [corner, at] of ring.entries()) {
        const pixel = pixelOf(at);
        if (pixel[1] < top[1]) top = pixel;
        if (corner === 0) ctx.moveTo(...pixel);
        else ctx.lineTo(...pixel);
      }
      ctx.closePath();
      ctx.fillStyle = this.#palette.alarm;
      // Only the nearest in time is filled: the later ones cover half the water.
      ctx.globalAlpha = 0.14;
      if (index === 0) ctx.fill();
      ctx.globalAlpha = 1;
      ctx.strokeStyle = this.#palette["alarm-edge"];
      ctx.stroke();
      this.#words(ctx, words, [top[0], top[1] - 10], this.#palette["alarm-edge"]);
    }
    ctx.setLineDash([]);
  }

  #trails(ctx: CanvasRenderingContext2D, scene: Scene, pixelOf: (at: LonLat) => Pixel): void {
    ctx.strokeStyle = this.#palette.trail;
    ctx.lineJoin = "round";
    for (const boat of scene.boats) {
      if (boat.ashore && boat.ix !== scene.chosen) continue;
      const span = boat.ix === scene.chosen || boat.level !== null ? TRAIL_CHOSEN_MS : TRAIL_SHOWN_MS;
      const points = scene.trails.get(boat.ix) ?? [];
      ctx.lineWidth = boat.ix === scene.chosen ? 3.5 : 2;
      for (const [third, alpha] of FADES.entries()) {
        const newest = scene.now - (span * third) / FADES.length;
        const oldest = scene.now - (span * (third + 1)) / FADES.length;
        strokeTrail(ctx, points, oldest, newest, alpha, pixelOf);
      }
    }
    ctx.globalAlpha = 1;
  }

  #boats(
    ctx: CanvasRenderingContext2D,
    scene: Scene,
    pixelOf: (at: LonLat) => Pixel,
    turnDeg: number,
    frame: FrameState,
    sheet: Sheet,
  ): void {
    const drawn = [...scene.boats].sort((a, b) => Number(a.level !== null) - Number(b.level !== null));
    const [width = 0, height = 0] = frame.size;
    const ratio = frame.pixelRatio;
    const full = hullPx(width, scene.boats.length);
    const isLow = height < SCALE_FROM_PX;
    const plates: Plate[] = [];
    this.#hits = [];
    for (const boat of drawn) {
      const at = pixelOf(boat.at);
      this.#hits.push({ ix: boat.ix, at });
      if (at[0] < -60 || at[1] < -60 || at[0] > width + 60 || at[1] > height + 60) continue;
      if (boat.ringM !== null) this.#ring(ctx, at, boat, frame);
      ctx.save();
      ctx.translate(onPixel(at[0], ratio), onPixel(at[1], ratio));
      if (boat.ix === scene.chosen) chosenCorners(ctx, this.#palette);
      drawBoat(ctx, ratio, boat, turnDeg, full, this.#palette);
      ctx.restore();
      const isSeen = at[0] >= 0 && at[1] >= 0 && at[0] <= width && at[1] <= height;
      if (!isSeen && boat.level === null) continue;
      const gap = full * (boat.level === null ? 0.65 : 1.3);
      // On a low chart there is room for numbers only; the cards beside it say what is the matter.
      const plain = isLow ? { ...boat, note: "" } : boat;
      plates.push({ boat: plain, at, gap, chosen: boat.ix === scene.chosen });
    }
    placePlates(ctx, ratio, plates.reverse(), sheet, this.#palette);
  }

  #ring(ctx: CanvasRenderingContext2D, at: Pixel, boat: BoatShape, frame: FrameState): void {
    // Mercator stretches by 1/cos(latitude): a metre on the water is more than one on the map.
    const metresAPixel = frame.viewState.resolution * Math.cos((boat.at[1] * Math.PI) / 180);
    const radius = (boat.ringM ?? 0) / metresAPixel;
    if (radius < 12) return;
    ctx.beginPath();
    ctx.arc(at[0], at[1], radius, 0, 7);
    ctx.setLineDash([3, 5]);
    ctx.lineWidth = 2;
    ctx.strokeStyle = this.#palette.edge;
    ctx.stroke();
    ctx.setLineDash([]);
  }

  #measure(ctx: CanvasRenderingContext2D, { measure }: Scene, pixelOf: (at: LonLat) => Pixel): void {
    const [first, second] = measure.points.map(pixelOf);
    if (first === undefined) return;
    ctx.fillStyle = this.#palette.act;
    for (const at of second === undefined ? [first] : [first, second]) {
      ctx.beginPath();
      ctx.arc(at[0], at[1], 7, 0, 7);
      ctx.fill();
    }
    if (second === undefined) return;
    ctx.beginPath();
    ctx.moveTo(...first);
    ctx.lineTo(...second);
    ctx.lineWidth = 3;
    ctx.strokeStyle = this.#palette.act;
    ctx.stroke();
    this.#words(
      ctx,
      measure.words,
      [(first[0] + second[0]) / 2, (first[1] + second[1]) / 2 - 14],
      this.#palette.act,
    );
  }

  #words(ctx: CanvasRenderingContext2D, words: string, at: Pixel, colour: string): void {
    ctx.save();
    ctx.setLineDash([]);
    ctx.font = "700 16px system-ui, sans-serif";
    ctx.textAlign = "center";
    ctx.textBaseline = "middle";
    ctx.lineWidth = 5;
    ctx.strokeStyle = this.#palette.bg;
    ctx.strokeText(words, ...at);
    ctx.fillStyle = colour;
    ctx.fillText(words, ...at);
    ctx.restore();
  }
}

/** An empty canvas of this frame's size, in its pixels. */
function clear(ctx: CanvasRenderingContext2D, frame: FrameState): void {
  const { canvas } = ctx;
  const [width = 0, height = 0] = frame.size;
  const ratio = frame.pixelRatio;
  if (canvas.width !== Math.round(width * ratio) || canvas.height !== Math.round(height * ratio)) {
    canvas.width = Math.round(width * ratio);
    canvas.height = Math.round(height * ratio);
    canvas.style.width = `${width}px`;
    canvas.style.height = `${height}px`;
  }
  ctx.setTransform(ratio, 0, 0, ratio, 0, 0);
  ctx.clearRect(0, 0, width, height);
}

/**
 * From degrees to pixels of this frame, by the spherical Mercator projection of the map (EPSG:3857).
 * Written out, since it runs ten thousand times a frame for the trails of a hundred boats.
 */
function pixels(frame: FrameState): (at: LonLat) => Pixel {
  const [a = 1, b = 0, c = 0, d = 1, e = 0, f = 0] = frame.coordinateToPixelTransform;
  return ([lon, lat]) => {
    const x = lon * METRES_A_DEGREE;
    const y = Math.log(Math.tan(((lat + 90) * Math.PI) / 360)) * EARTH_RADIUS_M;
    return [a * x + c * y + e, b * x + d * y + f];
  };
}

/** Radius of the sphere of EPSG:3857, and one degree on its equator. */
const EARTH_RADIUS_M = 6_378_137;
const METRES_A_DEGREE = (Math.PI / 180) * EARTH_RADIUS_M;

/** Points of a trail nearer to each other than this are not drawn apart. */
const TRAIL_STEP_PX = 3;

function strokeTrail(
  ctx: CanvasRenderingContext2D,
  points: readonly TrailPoint[],
  oldest: number,
  newest: number,
  alpha: number,
  pixelOf: (at: LonLat) => Pixel,
): void {
  ctx.beginPath();
  let last: Pixel | null = null;
  let before = 0;
  for (const [t, lon, lat] of points) {
    if (t < oldest || t > newest) continue;
    const pixel = pixelOf([lon / 1e7, lat / 1e7]);
    // A hole in the reports is left a hole: nobody knows where she was.
    const isHole = last === null || t - before >= 15_000;
    before = t;
    if (last !== null && !isHole && Math.hypot(pixel[0] - last[0], pixel[1] - last[1]) < TRAIL_STEP_PX)
      continue;
    if (isHole) ctx.moveTo(...pixel);
    else ctx.lineTo(...pixel);
    last = pixel;
  }
  ctx.globalAlpha = alpha;
  ctx.stroke();
}

/** The part of the chart that no button covers. */
function clearOfTools(width: number, height: number, { tools, toolsPx }: Scene): Sheet {
  const isLeft = tools === "left";
  if (width < NARROW_PX) {
    const covered = [corner(0, 0, ARROW_PX), corner(width - TURN_PX, 0, TURN_PX)];
    const [wide, high] = SCALE_PX;
    const right = width - TURN_PX;
    if (height >= SCALE_FROM_PX) covered.push({ left: right - wide, top: 0, right, bottom: high });
    return { left: 0, top: 0, right: width, bottom: height - TOOLS_HIGH_PX, covered };
  }
  const arrow = corner(isLeft ? width - ARROW_PX : 0, 0, ARROW_PX);
  const left = isLeft ? toolsPx + TOOLS_AIR_PX : 0;
  const right = isLeft ? width : width - toolsPx - TOOLS_AIR_PX;
  return { left, top: 0, right, bottom: height, covered: [arrow] };
}

function corner(left: number, top: number, size: number): Box {
  return { left, top, right: left + size, bottom: top + size };
}

/** Corners of a square round the boat that the panel is about. */
function chosenCorners(ctx: CanvasRenderingContext2D, palette: Palette): void {
  ctx.lineWidth = 3.5;
  ctx.strokeStyle = palette.act;
  const r = 34;
  ctx.beginPath();
  for (const [x, y] of [
    [-1, -1],
    [1, -1],
    [1, 1],
    [-1, 1],
  ] as const) {
    ctx.moveTo(x * r, y * (r - 12));
    ctx.lineTo(x * r, y * r);
    ctx.lineTo(x * (r - 12), y * r);
  }
  ctx.stroke();
}
