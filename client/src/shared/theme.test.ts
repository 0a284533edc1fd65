import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";

/** Contrast by W3C WCAG 2.2, "contrast ratio" and "relative luminance". */
function contrast(a: string, b: string): number {
  const [light, dark] = [luminance(a), luminance(b)].sort((x, y) => y - x) as [number, number];
  return (light + 0.05) / (dark + 0.05);
}

function luminance(hex: string): number {
  const [r = 0, g = 0, b = 0] = [1, 3, 5].map((at) => {
    const c = Number.parseInt(hex.slice(at, at + 2), 16) / 255;
    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

const css = readFileSync(new URL("./theme.css", import.meta.url), "utf8");

function theme(name: string): Record<string, string> {
  const block = css.slice(css.indexOf(`[data-theme="${name}"]`));
  const body = block.slice(block.indexOf("{"), block.indexOf("}"));
  return Object.fromEntries(
    [...body.matchAll(/--([a-z-]+):\s*(#[0-9a-f]{6})/g)].map(([, key, value]) => [key, value]),
  );
}

/** Every ink on every ground it is written on. */
const TEXT: [string, string][] = [
  ["ink", "bg"],
  ["ink", "panel"],
  ["quiet", "bg"],
  ["quiet", "panel"],
  ["act-ink", "act"],
  ["act", "bg"],
  ["act", "panel"],
  ["off-ink", "off"],
  ["caution-ink", "caution"],
  ["warning-ink", "warning"],
  ["alarm-ink", "alarm"],
  ["emergency-ink", "emergency"],
  ["ink", "plate"],
  ["quiet", "area"],
  ["bg", "ink"],
];

/** Edges and shapes that carry meaning. */
const SHAPES: [string, string][] = [
  ["edge", "bg"],
  ["edge", "panel"],
  ["caution-edge", "bg"],
  ["warning-edge", "bg"],
  ["alarm-edge", "bg"],
  ["hull", "area"],
  ["hull", "water"],
  ["area-line", "water"],
  ["area-line", "area"],
  ["no-go", "area"],
  ["landing", "area"],
  ["trail", "area"],
];

describe("contrast", () => {
  // Check values with their source: W3C WCAG 2.2, worked examples of black, white and mid greys.
  it.each([
    ["#000000", "#ffffff", 21],
    ["#777777", "#ffffff", 4.4781],
    ["#ff0000", "#ffffff", 3.9985],
    ["#b00020", "#ffffff", 7.325],
  ])("of %s on %s is %d", (a, b, expected) => {
    expect(contrast(a, b)).toBeCloseTo(expected, 3);
  });

  it.each(TEXT)("in sunlight of %s on %s is 7:1 or more (WCAG 1.4.6)", (ink, ground) => {
    const colours = theme("sun");
    expect(contrast(colours[ink] ?? "", colours[ground] ?? "")).toBeGreaterThanOrEqual(7);
  });

  it.each(["dusk", "night"].flatMap((name) => TEXT.map(([ink, ground]) => [name, ink, ground] as const)))(
    "at %s of %s on %s is 4.5:1 or more (WCAG 1.4.3)",
    (name, ink, ground) => {
      const colours = theme(name);
      expect(contrast(colours[ink] ?? "", colours[ground] ?? "")).toBeGreaterThanOrEqual(4.5);
    },
  );

  it.each(
    ["sun", "dusk", "night"].flatMap((name) =>
      SHAPES.map(([shape, ground]) => [name, shape, ground] as const),
    ),
  )("in %s of the shape %s on %s is 3:1 or more (WCAG 1.4.11)", (name, shape, ground) => {
    const colours = theme(name);
    expect(contrast(colours[shape] ?? "", colours[ground] ?? "")).toBeGreaterThanOrEqual(3);
  });

  it("lights nothing but red at night", () => {
    for (const value of Object.values(theme("night"))) {
      const [r = 0, g = 0, b = 0] = [1, 3, 5].map((at) => Number.parseInt(value.slice(at, at + 2), 16));
      expect(Math.max(g, b)).toBeLessThanOrEqual(Math.max(0, r * 0.7));
    }
  });
});
