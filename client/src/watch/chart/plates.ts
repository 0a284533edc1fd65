// Where the boats' plates go, so that no two cover each other while there is room.
import type { BoatShape } from "../../views/boats.ts";
import type { Palette } from "./palette.ts";
import { lay, onPixel } from "./stamps.ts";

/** Pixels. */
export interface Box {
  left: number;
  top: number;
  right: number;
  bottom: number;
}

/** Where plates may lie: within the edges and clear of the buttons over the chart. */
export interface Sheet extends Box {
  readonly covered: readonly Box[];
}

/** What is there already: a plate may lie over a hull when it must, over another plate hardly ever. */
export interface Taken {
  readonly hulls: readonly Box[];
  readonly covered: Box[];
}

/** One boat that wants a plate. */
export interface Plate {
  readonly boat: BoatShape;
  readonly at: readonly [number, number];
  /** From her middle to the plate's edge. */
  readonly gap: number;
  /** Never left out: she is the one the panel is about. */
  readonly chosen: boolean;
}

const HIGH = 24;
const NOTE_HIGH = 20;

/** Draws the plates, the first with the first choice of place. */
export function placePlates(
  ctx: CanvasRenderingContext2D,
  ratio: number,
  plates: readonly Plate[],
  sheet: Sheet,
  palette: Palette,
): void {
  const taken: Taken = { hulls: plates.map(({ at }) => around(at, 12)), covered: [...sheet.covered] };
  const placed: (() => void)[] = [];
  for (const plate of plates) {
    const { boat } = plate;
    const idWide = wideOf(ctx, boat.id, idFont(boat)) + 12;
    const noteWide = boat.note === "" ? 0 : wideOf(ctx, boat.note, NOTE_FONT) + 12;
    const size = { wide: Math.max(idWide, noteWide), high: HIGH + (boat.note === "" ? 0 : NOTE_HIGH) };
    const box = freePlace(plate, size, taken, sheet, !plate.chosen && mayBeLeftOut(boat));
    if (box === null) continue;
    taken.covered.push(box);
    placed.push(() => drawPlate(ctx, ratio, boat, box, idWide, palette));
  }
  // The first has not only the first choice but lies on top where there was no room.
  for (const draw of placed.reverse()) draw();
}

/** In a crowd only boats that nobody need look for go without: fresh, and no alert about them. */
function mayBeLeftOut({ level, freshness, safety, note }: BoatShape): boolean {
  return level === null && freshness === "fresh" && !safety && note === "";
}

/** Widths already measured; ages in notes make new ones, so it is emptied when it grows. */
const widths = new Map<string, number>();
const WIDTHS_MAX = 2_000;

function wideOf(ctx: CanvasRenderingContext2D, words: string, font: string): number {
  const key = `${font}|${words}`;
  const known = widths.get(key);
  if (known !== undefined) return known;
  if (widths.size >= WIDTHS_MAX) widths.clear();
  ctx.font = font;
  const { width } = ctx.measureText(words);
  widths.set(key, width);
  return width;
}

/**
 * The first of six places about her that is free and on the sheet. If none is: none, or one over a
 * hull, or at last the one of which the least is hidden.
 */
export function freePlace(
  { at, gap }: Pick<Plate, "at" | "gap">,
  size: { wide: number; high: number },
  taken: Taken,
  sheet: Box,
  mayBeNone = false,
): Box | null {
  const { wide, high } = size;
  const [x, y] = at;
  const places: [number, number][] = [
    [x + gap, y - high / 2],
    [x - gap - wide, y - high / 2],
    [x - wide / 2, y - gap - high],
    [x - wide / 2, y + gap],
    [x + gap * 0.75, y - gap - high / 2],
    [x + gap * 0.75, y + gap - high / 2],
  ];
  const boxes = places.map(([left, top]) => ({ left, top, right: left + wide, bottom: top + high }));
  let clear: Box | null = null;
  for (const box of boxes) {
    if (!inside(box, sheet) || taken.covered.some((other) => overlaps(box, other))) continue;
    if (!taken.hulls.some((other) => overlaps(box, other))) return box;
    clear ??= box;
  }
  if (mayBeNone) return null;
  return (
    clear ??
    boxes.reduce((best, box) => (hidden(box, taken, sheet) < hidden(best, taken, sheet) ? box : best))
  );
}

function around([x, y]: readonly [number, number], r: number): Box {
  return { left: x - r, top: y - r, right: x + r, bottom: y + r };
}

/** How much of a plate cannot be seen, square pixels: off the sheet, or under what lies there. */
function hidden(box: Box, { covered }: Taken, sheet: Box): number {
  const all = (box.right - box.left) * (box.bottom - box.top);
  return covered.reduce((sum, other) => sum + shared(box, other), all - shared(box, sheet));
}

function shared(a: Box, b: Box): number {
  const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
  const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
  return Math.max(0, wide) * Math.max(0, high);
}

function overlaps(a: Box, b: Box): boolean {
  return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

function inside(a: Box, b: Box): boolean {
  return a.left >= b.left && a.right <= b.right && a.top >= b.top && a.bottom <= b.bottom;
}

const NOTE_FONT = "650 14px system-ui, sans-serif";

function idFont(boat: BoatShape): string {
  return boat.ashore ? "600 13px system-ui, sans-serif" : "800 17px system-ui, sans-serif";
}

/** Room for the half of the edge that lies outside the plate, pixels. */
const RIM = 2;

function drawPlate(
  ctx: CanvasRenderingContext2D,
  ratio: number,
  boat: BoatShape,
  box: Box,
  idWide: number,
  palette: Palette,
): void {
  const wide = Math.ceil(boat.note === "" ? idWide : box.right - box.left);
  const high = box.bottom - box.top;
  const { id, note, level, ashore, freshness } = boat;
  // Themes differ in their ground, so its colour tells them apart.
  const key = ["plate", id, note, level, ashore, freshness === "fresh", palette.plate, palette.bg].join("|");
  const [left, top] = [onPixel(box.left - RIM, ratio), onPixel(box.top - RIM, ratio)];
  lay(ctx, ratio, key, { left, top, wide: wide + 2 * RIM, high: high + 2 * RIM }, (own) => {
    own.translate(RIM, RIM);
    paintPlate(own, boat, { wide, high }, palette);
  });
}

function paintPlate(
  ctx: CanvasRenderingContext2D,
  boat: BoatShape,
  { wide, high }: { wide: number; high: number },
  palette: Palette,
): void {
  const level = boat.level;
  const ground = level === null ? palette.plate : palette[level];
  const ink = level === null ? (boat.ashore ? palette.quiet : palette.ink) : palette[`${level}-ink`];
  const edge = level === null ? palette.edge : palette[`${level}-edge`];
  ctx.beginPath();
  ctx.roundRect(0, 0, wide, high, 5);
  ctx.fillStyle = ground;
  ctx.globalAlpha = boat.ashore ? 0.7 : 0.95;
  ctx.fill();
  ctx.globalAlpha = 1;
  ctx.lineWidth = level === null ? 1 : 2.5;
  if (boat.freshness !== "fresh") ctx.setLineDash([4, 3]);
  ctx.strokeStyle = edge;
  ctx.stroke();
  ctx.setLineDash([]);
  ctx.fillStyle = ink;
  ctx.textAlign = "left";
  ctx.textBaseline = "middle";
  ctx.font = idFont(boat);
  ctx.fillText(boat.id, 6, HIGH / 2 + 1);
  if (boat.note === "") return;
  ctx.font = NOTE_FONT;
  ctx.fillText(boat.note, 6, HIGH + NOTE_HIGH / 2 - 1);
}
