// The link to the server: connect, back off, and start from a snapshot after any gap.
import { LINK_LOST_MS, LINK_SLOW_MS, RETRY_FIRST_MS, RETRY_MAX_MS } from "./limits.ts";
import type { FromTablet } from "./wire/FromTablet.ts";
import type { ToTablet } from "./wire/ToTablet.ts";

/** How the link stands, judged by the tablet's own clock and not by what a socket claims. */
export type LinkState = "live" | "slow" | "lost";

/** `silentMs` since anything was heard; `null`: nothing ever was. */
export function linkState(silentMs: number | null): LinkState {
  if (silentMs === null || silentMs >= LINK_LOST_MS) return "lost";
  return silentMs >= LINK_SLOW_MS ? "slow" : "live";
}

/** The wait before attempt number `failures`, doubling, so that thirty tablets do not storm a server. */
export function backOffMs(failures: number): number {
  return Math.min(RETRY_MAX_MS, RETRY_FIRST_MS * 2 ** Math.min(failures, 10));
}

/** The part of a browser's WebSocket that is used; tests give their own. */
export interface SocketLike {
  onopen: (() => void) | null;
  onmessage: ((event: { data: unknown }) => void) | null;
  onclose: ((event: { code: number }) => void) | null;
  send(text: string): void;
  close(): void;
}

/** What the link needs from the world. */
export interface World {
  open(): SocketLike;
  steadyNow(): number;
  after(ms: number, run: () => void): () => void;
}

/** What the link reports. */
export interface Listener {
  message(message: ToTablet): void;
  /** The socket is gone; what was asked may or may not have been done. */
  dropped(): void;
  /** The server let us in no further: it may not know who we are. Whoever listens asks it. */
  refused(): void;
}

/** From here on a close code is the server's own word, such as "join first" (RFC 6455 7.4.2). */
const CODE_SAID = 4000;

/** One live link. */
export class Link {
  /** When anything was last heard, on the steady clock; `null` before. */
  heardMs: number | null = null;
  #socket: SocketLike | null = null;
  #world: World;
  #listener: Listener;
  #failures = 0;
  #cancel: (() => void) | null = null;
  #stopped = false;

  constructor(world: World, listener: Listener) {
    this.#world = world;
    this.#listener = listener;
  }

  start(): void {
    this.#stopped = false;
    this.#connect();
  }

  stop(): void {
    this.#stopped = true;
    this.#cancel?.();
    this.#socket?.close();
  }

  /** Gives up the open socket if it has gone quiet: a half-dead radio link never says goodbye. */
  look(): void {
    const since = this.#openedOrHeardMs;
    if (this.#socket !== null && since !== null && this.#world.steadyNow() - since >= LINK_LOST_MS) {
      this.#drop(this.#socket);
    }
  }

  /** Tries at once, for a person who presses "try again" or a tablet that just woke. */
  hurry(): void {
    if (this.#socket === null && !this.#stopped) {
      this.#cancel?.();
      this.#failures = 0;
      this.#connect();
    }
  }

  /** `false` when there is no link to send on. */
  send(message: FromTablet): boolean {
    if (this.#socket === null || !this.#open) return false;
    this.#socket.send(JSON.stringify(message));
    return true;
  }

  #open = false;
  #openedOrHeardMs: number | null = null;

  #connect(): void {
    const socket = this.#world.open();
    this.#socket = socket;
    this.#open = false;
    this.#openedOrHeardMs = this.#world.steadyNow();
    socket.onopen = () => {
      if (this.#socket === socket) this.#open = true;
    };
    socket.onmessage = ({ data }) => {
      if (this.#socket !== socket || typeof data !== "string") return;
      this.#openedOrHeardMs = this.#world.steadyNow();
      this.heardMs = this.#openedOrHeardMs;
      this.#failures = 0;
      const message = readMessage(data);
      if (message !== null) this.#listener.message(message);
    };
    socket.onclose = ({ code }) => {
      if (this.#socket !== socket) return;
      if (!this.#open || code >= CODE_SAID) this.#listener.refused();
      this.#drop(socket);
    };
  }

  #drop(socket: SocketLike): void {
    this.#socket = null;
    this.#open = false;
    socket.onclose = null;
    socket.close();
    this.#listener.dropped();
    if (this.#stopped) return;
    this.#cancel = this.#world.after(backOffMs(this.#failures), () => this.#connect());
    this.#failures += 1;
  }
}

/** A frame as a message; `null` when it is not one. What it holds is the server's own, typed, word. */
function readMessage(text: string): ToTablet | null {
  try {
    const value: unknown = JSON.parse(text);
    return typeof value === "object" && value !== null && "kind" in value ? (value as ToTablet) : null;
  } catch {
    return null;
  }
}
