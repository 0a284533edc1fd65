// How plots look: the theme's colours, the tablet's clock, no cursor and no legend to hover on.
import type uPlot from "uplot";
import { shortClock } from "../clock.ts";
import type { Palette } from "../watch/chart/palette.ts";

/** One curve and the scale it is read on. */
export interface Curve {
  readonly name: string;
  readonly colour: keyof Palette;
  readonly dash?: readonly number[];
  readonly scale: "left" | "right";
  readonly width?: number;
}

/** Options for a plot of these curves. */
export function plotOptions(
  width: number,
  height: number,
  curves: readonly Curve[],
  palette: Palette,
): uPlot.Options {
  const font = "600 13px system-ui, sans-serif";
  const axis = (curve: Curve | undefined, side: 1 | 3): uPlot.Axis => ({
    side,
    scale: side === 3 ? "left" : "right",
    stroke: palette.ink,
    font,
    size: 44,
    label: curve?.name ?? "",
    labelFont: font,
    labelSize: 18,
    grid: { show: side === 3, stroke: palette.edge, width: 0.5 },
    ticks: { show: false },
  });
  const left = curves.find(({ scale }) => scale === "left");
  const right = curves.find(({ scale }) => scale === "right");
  const axes: uPlot.Axis[] = [
    {
      stroke: palette.ink,
      font,
      space: 70,
      size: 26,
      grid: { show: false },
      ticks: { show: false },
      // A minute is the least: a clock without seconds would repeat itself.
      incrs: [60, 120, 300, 600, 900, 1_800, 3_600],
      values: (_plot, seconds) => seconds.map((s) => shortClock(s * 1000)),
    },
    axis(left, 3),
  ];
  if (right !== undefined) axes.push(axis(right, 1));
  return {
    width,
    height,
    legend: { show: false },
    cursor: { show: false },
    scales: {
      x: { time: true },
      left: { range: (_plot, _min, max) => [0, Math.max(2, (max ?? 0) * 1.15)] },
      right: { range: () => [0, 100] },
    },
    axes,
    series: [
      {},
      ...curves.map(
        (curve): uPlot.Series => ({
          scale: curve.scale,
          stroke: palette[curve.colour],
          width: curve.width ?? 2.5,
          points: { show: false },
          spanGaps: false,
          ...(curve.dash === undefined ? {} : { dash: [...curve.dash] }),
        }),
      ),
    ],
  };
}
