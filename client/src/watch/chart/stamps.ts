// Pictures kept for the canvas: what looks the same is drawn once and laid down often.

/** Three times what a hundred boats show at once; some 50 kB each on a sharp screen. Beyond it all are made anew. */
const STAMPS_MAX = 600;

const stamps = new Map<string, HTMLCanvasElement>();

/** How a picture is drawn: its own canvas, in the pixels of the page, with its first corner at the origin. */
type Paint = (ctx: CanvasRenderingContext2D) => void;

/**
 * Lays the picture called `key` with its first corner at `left`, `top`; drawn by `paint` if there is none.
 * `ratio`: the screen's pixels a page pixel. On whole pixels of the screen it stays sharp.
 */
export function lay(
  ctx: CanvasRenderingContext2D,
  ratio: number,
  key: string,
  { left, top, wide, high }: { left: number; top: number; wide: number; high: number },
  paint: Paint,
): void {
  const name = `${ratio}|${key}`;
  let picture = stamps.get(name);
  if (picture === undefined) {
    if (stamps.size >= STAMPS_MAX) stamps.clear();
    picture = made(wide, high, ratio, paint);
    stamps.set(name, picture);
  }
  ctx.drawImage(picture, left, top, picture.width / ratio, picture.height / ratio);
}

/** The nearest whole pixel of the screen. */
export function onPixel(at: number, ratio: number): number {
  return Math.round(at * ratio) / ratio;
}

function made(wide: number, high: number, ratio: number, paint: Paint): HTMLCanvasElement {
  const canvas = document.createElement("canvas");
  canvas.width = Math.ceil(wide * ratio);
  canvas.height = Math.ceil(high * ratio);
  const ctx = canvas.getContext("2d");
  if (ctx === null) return canvas;
  ctx.setTransform(ratio, 0, 0, ratio, 0, 0);
  paint(ctx);
  return canvas;
}
