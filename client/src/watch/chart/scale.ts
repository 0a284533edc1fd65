// The scale bar: a round distance about as long as two thumbs.
import { distanceText, type UnitSystem } from "../../units.ts";

const SHORT_M = [10, 20, 50, 100, 200, 500];
/** Long ones are round in the unit that they are read in. */
const LONG_M: Readonly<Record<UnitSystem, readonly number[]>> = {
  metric: [1_000, 2_000, 5_000, 10_000, 20_000],
  nautical: [926, 1_852, 3_704, 9_260, 18_520],
};
const MILES: Readonly<Record<number, string>> = { 926: "½", 1852: "1", 3704: "2", 9260: "5", 18520: "10" };

/** The longest round distance that fits into 140 px. */
export function scaleBar(metresAPixel: number, units: UnitSystem): { widthPx: number; words: string } {
  const metres = [...SHORT_M, ...LONG_M[units]].findLast((each) => each / metresAPixel <= 140) ?? 10;
  const words = metres in MILES && units === "nautical" ? `${MILES[metres]} nm` : distanceText(metres, units);
  return { widthPx: Math.round(metres / metresAPixel), words };
}
