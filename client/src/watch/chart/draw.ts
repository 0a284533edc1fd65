// One boat on a canvas. The shape says how she lies, the ring how bad it is, the plate which she is.
import type { BoatShape } from "../../views/boats.ts";
import type { Level } from "../../views/levels.ts";
import type { Palette } from "./palette.ts";
import { lay } from "./stamps.ts";

const RAD = Math.PI / 180;

/** Half-way between seen from a bouncing boat and not hiding the neighbour: less on a phone and in a crowd. */
export function hullPx(chartWidth: number, boats: number): number {
  return chartWidth < 600 || boats > CROWD ? 26 : 34;
}

/** With more boats than this on the chart they begin to lie on each other. */
const CROWD = 40;

/** Ink that shows on the ground whatever lies below it. */
function haloed(ctx: CanvasRenderingContext2D, palette: Palette, width: number, draw: () => void): void {
  ctx.strokeStyle = palette.bg;
  ctx.lineWidth = width + 3;
  draw();
  ctx.strokeStyle = palette.hull;
  ctx.lineWidth = width;
  draw();
}

/** Draws her with her middle at the origin, a whole pixel; `ratio` is the screen's pixels a page pixel, `turnDeg` is what the chart is turned by, `full` her length. */
export function drawBoat(
  ctx: CanvasRenderingContext2D,
  ratio: number,
  boat: BoatShape,
  turnDeg: number,
  full: number,
  palette: Palette,
): void {
  const size = full * (boat.ashore ? 0.6 : boat.station ? 0.9 : 1);
  if (boat.level !== null) drawLevel(ctx, boat.level, full * 0.95, palette);
  if (boat.own) ownRing(ctx, full * 0.78, palette);
  ctx.save();
  ctx.lineJoin = "round";
  ctx.lineCap = "round";
  if (boat.station) {
    drawMast(ctx, size, palette);
  } else if (boat.pose === "no-heading") {
    drawDot(ctx, size, boat.freshness !== "fresh", palette);
  } else {
    stampHull(ctx, ratio, boat, turnDeg, size, palette);
  }
  ctx.restore();
  if (boat.freshness === "lost") questionMark(ctx, palette);
}

/** Hull and sail, on the nearest of courses so close together that the bow lies within half a pixel. */
function stampHull(
  ctx: CanvasRenderingContext2D,
  ratio: number,
  boat: BoatShape,
  turnDeg: number,
  size: number,
  palette: Palette,
): void {
  const { pose, boomDeg, sailSide, freshness, safety } = boat;
  const course = (Math.round((boat.heading - turnDeg) / COURSE_STEP_DEG) * COURSE_STEP_DEG + 720) % 360;
  const boom = boomDeg === null ? null : Math.round(boomDeg / BOOM_STEP_DEG) * BOOM_STEP_DEG;
  const key = ["hull", pose, course, boom, sailSide, freshness, safety, size, palette.hull, palette.bg].join(
    "|",
  );
  // The sail of a boat on her side reaches furthest from her middle.
  const reach = Math.ceil(size) + 2;
  lay(ctx, ratio, key, { left: -reach, top: -reach, wide: 2 * reach, high: 2 * reach }, (own) => {
    own.translate(reach, reach);
    own.rotate(course * RAD);
    own.lineJoin = "round";
    own.lineCap = "round";
    hull(own, boat, size, palette);
    if (pose === "lying") lyingSail(own, boat, size, palette);
    else if (boom !== null && freshness !== "lost") sail(own, boat, boom, size, palette);
  });
}

const COURSE_STEP_DEG = 3;
const BOOM_STEP_DEG = 4;

function hullPath(ctx: CanvasRenderingContext2D, size: number, beam: number): void {
  ctx.beginPath();
  ctx.moveTo(0, -0.5 * size);
  ctx.bezierCurveTo(beam * size, -0.25 * size, beam * size, 0.1 * size, beam * 0.8 * size, 0.5 * size);
  ctx.lineTo(-beam * 0.8 * size, 0.5 * size);
  ctx.bezierCurveTo(-beam * size, 0.1 * size, -beam * size, -0.25 * size, 0, -0.5 * size);
  ctx.closePath();
}

function hull(ctx: CanvasRenderingContext2D, boat: BoatShape, size: number, palette: Palette): void {
  hullPath(ctx, size, boat.pose === "motor" ? 0.3 : 0.22);
  if (boat.freshness === "fresh" && boat.pose !== "lying") {
    ctx.lineWidth = 4;
    ctx.strokeStyle = palette.bg;
    ctx.stroke();
    ctx.fillStyle = boat.safety ? palette.act : palette.hull;
    ctx.fill();
    if (boat.pose === "motor") crossOn(ctx, size, palette);
    return;
  }
  ctx.fillStyle = palette.bg;
  ctx.fill();
  if (boat.freshness !== "fresh") ctx.setLineDash([4, 4]);
  ctx.lineWidth = 2.5;
  ctx.strokeStyle = palette.hull;
  ctx.stroke();
  ctx.setLineDash([]);
}

/** A white cross tells the boats that help from those that learn. */
function crossOn(ctx: CanvasRenderingContext2D, size: number, palette: Palette): void {
  ctx.strokeStyle = palette["act-ink"];
  ctx.lineWidth = 3;
  ctx.beginPath();
  ctx.moveTo(0, -0.12 * size);
  ctx.lineTo(0, 0.28 * size);
  ctx.moveTo(-0.15 * size, 0.08 * size);
  ctx.lineTo(0.15 * size, 0.08 * size);
  ctx.stroke();
}

function sail(
  ctx: CanvasRenderingContext2D,
  boat: BoatShape,
  boomDeg: number,
  size: number,
  palette: Palette,
): void {
  const mast = -0.16 * size;
  const side = boat.sailSide;
  const out = boomDeg * RAD;
  const endX = side * Math.sin(out) * 0.72 * size;
  const endY = mast + Math.cos(out) * 0.72 * size;
  // The belly stands off the boom towards the lee side.
  const bellyX = endX / 2 + side * Math.cos(out) * 0.2 * size;
  const bellyY = (mast + endY) / 2 - Math.sin(out) * 0.2 * size;
  const draw = () => {
    ctx.beginPath();
    ctx.moveTo(0, mast);
    ctx.quadraticCurveTo(bellyX, bellyY, endX, endY);
    ctx.closePath();
    ctx.stroke();
  };
  haloed(ctx, palette, 3, draw);
  ctx.fillStyle = palette.sail;
  ctx.fill();
}

/** On her side: the mast and the whole sail lie on the water beside the hull. */
function lyingSail(ctx: CanvasRenderingContext2D, boat: BoatShape, size: number, palette: Palette): void {
  const side = boat.sailSide;
  const draw = () => {
    ctx.beginPath();
    ctx.moveTo(side * 0.1 * size, -0.16 * size);
    ctx.lineTo(side * 0.85 * size, -0.16 * size);
    ctx.lineTo(side * 0.15 * size, 0.4 * size);
    ctx.closePath();
    ctx.stroke();
  };
  haloed(ctx, palette, 3, draw);
  ctx.fillStyle = palette.sail;
  ctx.fill();
}

function drawDot(ctx: CanvasRenderingContext2D, size: number, dashed: boolean, palette: Palette): void {
  ctx.beginPath();
  ctx.arc(0, 0, size * 0.25, 0, 7);
  ctx.fillStyle = palette.bg;
  ctx.fill();
  if (dashed) ctx.setLineDash([4, 4]);
  ctx.lineWidth = 3;
  ctx.strokeStyle = palette.hull;
  ctx.stroke();
  ctx.setLineDash([]);
}

function drawMast(ctx: CanvasRenderingContext2D, size: number, palette: Palette): void {
  const draw = () => {
    ctx.beginPath();
    ctx.moveTo(0, size * 0.4);
    ctx.lineTo(0, -size * 0.5);
    ctx.lineTo(size * 0.4, -size * 0.32);
    ctx.lineTo(0, -size * 0.14);
    ctx.moveTo(-size * 0.2, size * 0.4);
    ctx.lineTo(size * 0.2, size * 0.4);
    ctx.stroke();
  };
  haloed(ctx, palette, 2.5, draw);
}

function questionMark(ctx: CanvasRenderingContext2D, palette: Palette): void {
  ctx.font = "800 18px system-ui, sans-serif";
  ctx.textAlign = "center";
  ctx.textBaseline = "middle";
  ctx.lineWidth = 4;
  ctx.strokeStyle = palette.bg;
  ctx.strokeText("?", 0, 1);
  ctx.fillStyle = palette.hull;
  ctx.fillText("?", 0, 1);
}

function ownRing(ctx: CanvasRenderingContext2D, radius: number, palette: Palette): void {
  ctx.beginPath();
  ctx.arc(0, 0, radius, 0, 7);
  ctx.lineWidth = 2;
  ctx.strokeStyle = palette.act;
  ctx.stroke();
}

/** A different outline for each level, so that no colour is needed to tell them apart. */
function drawLevel(ctx: CanvasRenderingContext2D, level: Level, radius: number, palette: Palette): void {
  ctx.save();
  ctx.lineJoin = "miter";
  ctx.fillStyle = palette[level];
  ctx.strokeStyle = palette[`${level}-edge`];
  levelPath(ctx, level, radius);
  ctx.globalAlpha = level === "caution" || level === "warning" ? 0.85 : 0.35;
  ctx.fill();
  ctx.globalAlpha = 1;
  ctx.lineWidth = level === "caution" ? 2.5 : 4;
  if (level === "caution") ctx.setLineDash([6, 5]);
  ctx.stroke();
  ctx.setLineDash([]);
  if (level === "emergency") {
    levelPath(ctx, level, radius * 1.22);
    ctx.strokeStyle = palette.emergency;
    ctx.stroke();
  }
  ctx.restore();
}

/** Caution a circle, warning a triangle, alarm a square on its corner, emergency a star. */
export function levelPath(ctx: CanvasRenderingContext2D, level: Level, radius: number): void {
  ctx.beginPath();
  if (level === "caution") {
    ctx.arc(0, 0, radius, 0, 7);
    return;
  }
  for (const [index, [x, y]] of corners(level).entries()) {
    if (index === 0) ctx.moveTo(x * radius, y * radius);
    else ctx.lineTo(x * radius, y * radius);
  }
  ctx.closePath();
}

/** The corners of a level's outline on a circle of radius 1, the first one up. */
export function corners(level: Exclude<Level, "caution">): [number, number][] {
  const count = { warning: 3, alarm: 4, emergency: 16 }[level];
  const reach = { warning: 1.35, alarm: 1.25, emergency: 1.3 }[level];
  return Array.from({ length: count }, (_, index) => {
    const angle = (index / count) * 2 * Math.PI;
    const r = level === "emergency" && index % 2 === 1 ? reach * 0.78 : reach;
    return [Math.sin(angle) * r, -Math.cos(angle) * r];
  });
}
