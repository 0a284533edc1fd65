// Fixes that the server has not yet confirmed, kept through dead spots and restarts of the page.
import type { PhoneFix } from "./wire.ts";

/** Fixes kept at most: four hours at one a second. Beyond it the oldest go, and are counted. */
export const KEPT_MAX = 4 * 3600;

/** A keeper of fixes by their number. */
export interface Shelf {
  /** Everything kept, oldest first, with the run it belongs to and the last number used. */
  load(): Promise<{ run: string; last: number; fixes: PhoneFix[] }>;
  put(fix: PhoneFix): Promise<void>;
  /** Drops all up to and including this number. */
  dropTo(seq: number): Promise<void>;
}

/** The queue in memory, backed by a shelf. What the shelf cannot do is never waited for. */
export class Queue {
  readonly run: string;
  #fixes: PhoneFix[];
  #last: number;
  #lost = 0;
  readonly #shelf: Shelf;

  private constructor(shelf: Shelf, kept: { run: string; last: number; fixes: PhoneFix[] }) {
    this.#shelf = shelf;
    this.run = kept.run;
    this.#fixes = kept.fixes;
    this.#last = kept.last;
  }

  /** Opens what an earlier start of the page left. */
  static async open(shelf: Shelf): Promise<Queue> {
    return new Queue(shelf, await shelf.load());
  }

  /** Gives a fix its number and keeps it until it is confirmed. */
  add(fix: Omit<PhoneFix, "seq">): PhoneFix {
    this.#last += 1;
    const numbered = { seq: this.#last, ...fix };
    this.#fixes.push(numbered);
    void this.#shelf.put(numbered).catch(() => undefined);
    if (this.#fixes.length > KEPT_MAX) {
      const oldest = this.#fixes.shift();
      this.#lost += 1;
      if (oldest !== undefined) void this.#shelf.dropTo(oldest.seq).catch(() => undefined);
    }
    return numbered;
  }

  /** The server has everything up to this number on disk. */
  confirm(seq: number): void {
    this.#fixes = this.#fixes.filter((fix) => fix.seq > seq);
    void this.#shelf.dropTo(seq).catch(() => undefined);
  }

  /** At most `count` unconfirmed fixes after `seq`, oldest first. */
  after(seq: number, count: number): PhoneFix[] {
    return this.#fixes.filter((fix) => fix.seq > seq).slice(0, count);
  }

  /** How many wait. */
  get waiting(): number {
    return this.#fixes.length;
  }

  /** How many had to be given up because too many waited. */
  get lost(): number {
    return this.#lost;
  }
}

/** A shelf in memory: for tests, and for browsers that keep nothing in private windows. */
export function memoryShelf(run: string): Shelf {
  return {
    load: () => Promise.resolve({ run, last: 0, fixes: [] }),
    put: () => Promise.resolve(),
    dropTo: () => Promise.resolve(),
  };
}
