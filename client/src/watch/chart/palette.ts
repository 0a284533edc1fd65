// The theme's colours for the canvas, which cannot read a style sheet by itself.

const NAMES = [
  "bg",
  "panel",
  "ink",
  "quiet",
  "edge",
  "act",
  "act-ink",
  "caution",
  "caution-ink",
  "caution-edge",
  "warning",
  "warning-ink",
  "warning-edge",
  "alarm",
  "alarm-ink",
  "alarm-edge",
  "emergency",
  "emergency-ink",
  "emergency-edge",
  "water",
  "area",
  "land",
  "area-line",
  "no-go",
  "landing",
  "trail",
  "hull",
  "sail",
  "plate",
] as const;

/** A colour of the theme. */
export type ColourName = (typeof NAMES)[number];

/** Every colour of the theme as the style sheet gives it. */
export type Palette = Readonly<Record<ColourName, string>>;

/** The colours in force on the page now. */
export function readPalette(): Palette {
  const style = getComputedStyle(document.documentElement);
  return Object.fromEntries(
    NAMES.map((name) => [name, style.getPropertyValue(`--${name}`).trim()]),
  ) as Palette;
}
