// The only readings of a clock, and the only words made of times.

/** Milliseconds of this page's own steady clock; never jumps. */
export function steadyNow(): number {
  return performance.now();
}

/** The tablet's wall clock, UTC milliseconds. May be wrong by hours; used only before a server spoke. */
export function wallNow(): number {
  return Date.now();
}

/**
 * The server's time as far as the tablet can tell.
 *
 * The smallest difference seen between the server's stamp and our steady clock belongs to the
 * message that was least delayed. It is forgotten slowly, so that a server whose clock was set is
 * followed within a minute.
 */
export class ServerClock {
  #offset: number | null = null;
  #at = 0;

  /** A message stamped `serverMs` arrived when the steady clock read `steadyMs`. */
  hear(serverMs: number, steadyMs: number): void {
    const offset = serverMs - steadyMs;
    if (this.#offset === null || offset > this.#offset || Math.abs(offset - this.#offset) > 10_000) {
      this.#offset = offset;
    } else {
      // A later message can only be late, not early: creep towards it by a thousandth of the time.
      const creep = (steadyMs - this.#at) * 0.001;
      this.#offset = Math.max(offset, this.#offset - creep);
    }
    this.#at = steadyMs;
  }

  /** Server time when the steady clock reads `steadyMs`; `null` before a server spoke. */
  at(steadyMs: number): number | null {
    return this.#offset === null ? null : this.#offset + steadyMs;
  }
}

/** `14:03:07` in the tablet's own time zone. */
export function clockText(ms: number): string {
  const date = new Date(ms);
  return [date.getHours(), date.getMinutes(), date.getSeconds()].map(two).join(":");
}

/** `14:03` in the tablet's own time zone. */
export function shortClock(ms: number): string {
  return clockText(ms).slice(0, 5);
}

/** A span as a stopwatch: `4:07`, `1:02:33`. A span below zero counts as none. */
export function stopwatch(spanMs: number): string {
  const s = Math.max(0, Math.floor(spanMs / 1000));
  const hours = Math.floor(s / 3600);
  const minutes = Math.floor(s / 60) % 60;
  return hours > 0 ? `${hours}:${two(minutes)}:${two(s % 60)}` : `${minutes}:${two(s % 60)}`;
}

/** A span in the shortest words: `12 s`, `4 min`, `2 h 10`. A span below zero counts as none. */
export function spanText(spanMs: number): string {
  const s = Math.max(0, Math.round(spanMs / 1000));
  if (s < 100) return `${s} s`;
  const minutes = Math.round(s / 60);
  if (minutes < 100) return `${minutes} min`;
  return `${Math.floor(minutes / 60)} h ${two(minutes % 60)}`;
}

/** `2026-07-14` in the tablet's own time zone. */
export function dayText(ms: number): string {
  const date = new Date(ms);
  return `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}`;
}

function two(n: number): string {
  return String(n).padStart(2, "0");
}
