// Heel from gravity, once somebody has said "the boat is upright now".

/** The pull on the phone in its own axes, m/s^2, as DeviceMotion gives it (gravity included). */
export interface Pull {
  x: number;
  y: number;
  z: number;
}

/** How fast the smoothed pull follows, s: faster than a capsize, slower than a wave's slap. */
const SMOOTHING_S = 0.8;

/** Weaker or stronger than this share of gravity is a knock or a fall, not an angle. */
const CREDIBLE = { least: 0.6, most: 1.5 };
const GRAVITY = 9.81;

/** Smooths the pull; passes over knocks. */
export class Level {
  #pull: Pull | null = null;
  #upright: Pull | null = null;
  #at = 0;

  /** A reading at `ms` of a steady clock. */
  hear(pull: Pull, ms: number): void {
    const size = length(pull) / GRAVITY;
    if (!(size > CREDIBLE.least && size < CREDIBLE.most)) return;
    const share = this.#pull === null ? 1 : 1 - Math.exp(-(ms - this.#at) / 1000 / SMOOTHING_S);
    const was = this.#pull ?? pull;
    this.#pull = {
      x: was.x + (pull.x - was.x) * share,
      y: was.y + (pull.y - was.y) * share,
      z: was.z + (pull.z - was.z) * share,
    };
    this.#at = ms;
  }

  /** The boat is upright now, and the phone lies as it will. `false`: nothing felt yet. */
  setUpright(): boolean {
    this.#upright = this.#pull;
    return this.#upright !== null;
  }

  /** Forget it: the phone is in a hand or a pocket again. */
  forget(): void {
    this.#upright = null;
  }

  /** Whether an upright was set. */
  get isFixed(): boolean {
    return this.#upright !== null;
  }

  /**
   * Degrees between upright and now, -180..180; `null` before an upright was set. The phone's top
   * points to the bow: then a pull towards its right edge is a heel to starboard, counted positive.
   */
  heelDeg(): number | null {
    if (this.#upright === null || this.#pull === null) return null;
    const [a, b] = [this.#upright, this.#pull];
    const cos = (a.x * b.x + a.y * b.y + a.z * b.z) / (length(a) * length(b));
    const angle = (Math.acos(Math.min(1, Math.max(-1, cos))) * 180) / Math.PI;
    const toStarboard = a.x / length(a) - b.x / length(b) >= 0;
    return toStarboard ? angle : -angle;
  }
}

function length(pull: Pull): number {
  return Math.hypot(pull.x, pull.y, pull.z);
}
