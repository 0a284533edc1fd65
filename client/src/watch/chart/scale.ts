// The scale bar: a round distance about as long as two thumbs.
import { distanceText, type UnitSystem } from "../../units.ts";

const ROUND_M = [10, 20, 50, 100, 200, 500, 1_000, 2_000, 5_000, 10_000, 20_000];

/** The longest round distance that fits into 140 px. */
export function scaleBar(metresAPixel: number, units: UnitSystem): { widthPx: number; words: string } {
  const metres = ROUND_M.findLast((each) => each / metresAPixel <= 140) ?? ROUND_M[0] ?? 10;
  return { widthPx: Math.round(metres / metresAPixel), words: distanceText(metres, units) };
}
