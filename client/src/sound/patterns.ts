// What each level sounds like. Told apart by rhythm first, since wind noise eats pitch and loudness.
//
// Bursts after IEC 60601-1-8 as summarised in secondary texts: high priority 3 + 2 pulses, repeated
// once; medium 3 pulses; low 1 or 2; fundamentals from 150 to 1000 Hz with at least four harmonics
// between 300 and 4000 Hz within 15 dB. Intervals between bursts: high 2.5 to 15 s, medium 2.5 to
// 30 s, low over 15 s or never.
import type { Level } from "../views/levels.ts";

/** One tone. */
export interface Pulse {
  /** From the start of the burst, seconds. */
  readonly atS: number;
  readonly longS: number;
  readonly hz: number;
}

/** A level's sound. */
export interface Pattern {
  readonly burst: readonly Pulse[];
  /** From the start of a burst to the start of the next; `null`: it sounds once. */
  readonly everyS: number | null;
  /** For `navigator.vibrate`: on, off, on ... in milliseconds. */
  readonly vibrate: readonly number[];
}

const pulses = (longS: number, starts: readonly number[], hz: readonly number[]): Pulse[] =>
  starts.map((atS, index) => ({ atS, longS, hz: hz[index % hz.length] ?? 440 }));

/** Starts of 3 + 2 quick pulses. */
const THREE_AND_TWO = [0, 0.2, 0.4, 0.85, 1.05];

/** The sound of each level. */
export const PATTERNS: Readonly<Record<Level, Pattern>> = {
  // Twice 3 + 2, climbing: the only one that climbs and the only one with ten pulses.
  emergency: {
    burst: pulses(
      0.13,
      [...THREE_AND_TWO, ...THREE_AND_TWO.map((start) => start + 1.55)],
      [523, 659, 784, 880, 988],
    ),
    everyS: 4,
    vibrate: [130, 70, 130, 70, 130, 250, 130, 70, 130, 500, 130, 70, 130, 70, 130, 250, 130, 70, 130],
  },
  // Once 3 + 2 on one high note.
  alarm: {
    burst: pulses(0.14, THREE_AND_TWO, [784]),
    everyS: 5,
    vibrate: [140, 60, 140, 60, 140, 250, 140, 60, 140],
  },
  // Three long pulses, high and low.
  warning: {
    burst: pulses(0.38, [0, 0.6, 1.2], [587, 440]),
    everyS: 15,
    vibrate: [380, 220, 380, 220, 380],
  },
  // Two soft low knocks, once: it asks for attention, not for action.
  caution: {
    burst: pulses(0.1, [0, 0.35], [330]),
    everyS: null,
    vibrate: [100],
  },
};

/** Strength of the harmonics, the fundamental first: six within 15 dB of it. */
export const HARMONICS = [1, 0.9, 0.8, 0.65, 0.5, 0.4, 0.3] as const;

/** How long a burst is, seconds. */
export function burstLong({ burst }: Pattern): number {
  return Math.max(...burst.map(({ atS, longS }) => atS + longS));
}
