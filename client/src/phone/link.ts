// The boat's own socket: hello, fixes until they are confirmed, and what comes back.
import type { Queue } from "./queue.ts";
import {
  CLOSED_KEY,
  CLOSED_REPLACED,
  CLOSED_VERSION,
  FEED_VERSION,
  FIXES_MAX,
  type FromPhone,
  type PhoneSignal,
  type ToPhone,
} from "./wire.ts";

/** Why the link is as it is. */
export type LinkState = "looking" | "joined" | "wrong-key" | "replaced" | "old-page";

/** What the page shows of the link. */
export interface LinkView {
  state: LinkState;
  boat: string | null;
  centre: string | null;
  /** Steady time of the server's last word; `null`: never. */
  heardAt: number | null;
  /** Age of the boat's position in the watch when it was last said, s. */
  ageS: number | null;
  help: string;
  signal: PhoneSignal | null;
  /** The server's last complaint. */
  trouble: string | null;
}

/** The part of a WebSocket that is used. */
export interface Socket {
  onopen: (() => void) | null;
  onmessage: ((event: { data: unknown }) => void) | null;
  onclose: ((event: { code: number }) => void) | null;
  send(text: string): void;
  close(): void;
}

/** The world around the link, so that tests can be one. */
export interface Around {
  open(): Socket;
  steadyNow(): number;
  after(ms: number, run: () => void): () => void;
  changed(view: LinkView): void;
}

/** A word from the server at least this often, ms; else the socket is dead, whatever it says. */
const SILENCE_MS = 8_000;
const BACK_OFF_MS = [500, 1_000, 2_000, 4_000, 8_000];

/** Keeps one boat joined to the server. */
export class PhoneLink {
  readonly #key: string;
  readonly #queue: Queue;
  readonly #around: Around;
  #socket: Socket | null = null;
  #sentTo = 0;
  #joined = false;
  #tries = 0;
  #cancelSilence: () => void = () => undefined;
  #view: LinkView = {
    state: "looking",
    boat: null,
    centre: null,
    heardAt: null,
    ageS: null,
    help: "none",
    signal: null,
    trouble: null,
  };

  constructor(key: string, queue: Queue, around: Around) {
    this.#key = key;
    this.#queue = queue;
    this.#around = around;
  }

  /** Starts, and goes on until the server says that this key or page is no good. */
  start(): void {
    const socket = this.#around.open();
    this.#socket = socket;
    socket.onopen = () => {
      this.#say({ kind: "hello", v: FEED_VERSION, key: this.#key, run: this.#queue.run });
      this.#expectWord();
    };
    socket.onmessage = (event) => this.#hear(event.data);
    socket.onclose = (event) => this.#closed(socket, event.code);
    this.#expectWord();
  }

  /** Sends what waits, as much as a message holds. */
  flush(): void {
    if (!this.#joined) return;
    for (;;) {
      const fixes = this.#queue.after(this.#sentTo, FIXES_MAX);
      const newest = fixes.at(-1);
      if (newest === undefined) return;
      this.#say({ kind: "fixes", fixes });
      this.#sentTo = newest.seq;
    }
  }

  /** The crew has seen the signal that stands. */
  seen(): void {
    const signal = this.#view.signal;
    if (signal !== null && this.#joined) this.#say({ kind: "seen", at_ms: signal.at_ms });
  }

  #say(message: FromPhone): void {
    this.#socket?.send(JSON.stringify(message));
  }

  #hear(data: unknown): void {
    const message = read(data);
    if (message === null) return;
    this.#expectWord();
    const heardAt = this.#around.steadyNow();
    switch (message.kind) {
      case "welcome":
        this.#joined = true;
        this.#tries = 0;
        this.#queue.confirm(message.acked ?? 0);
        this.#sentTo = message.acked ?? 0;
        this.#show({
          state: "joined",
          boat: message.boat,
          centre: message.centre,
          heardAt,
          trouble: null,
        });
        this.flush();
        return;
      case "ack":
        this.#queue.confirm(message.seq);
        this.#show({ heardAt, trouble: message.refused.at(-1)?.why ?? null });
        return;
      case "heard":
        this.#show({ heardAt, ageS: message.age_s, help: message.help });
        return;
      case "signal":
        this.#show({ heardAt, signal: message.signal });
        return;
      case "error":
        this.#show({ heardAt, trouble: message.text });
    }
  }

  #closed(socket: Socket, code: number): void {
    if (socket !== this.#socket) return;
    this.#socket = null;
    this.#joined = false;
    this.#cancelSilence();
    const final = new Map<number, LinkState>([
      [CLOSED_KEY, "wrong-key"],
      [CLOSED_REPLACED, "replaced"],
      [CLOSED_VERSION, "old-page"],
    ]).get(code);
    this.#show({ state: final ?? "looking" });
    if (final !== undefined) return;
    const wait = BACK_OFF_MS[Math.min(this.#tries, BACK_OFF_MS.length - 1)] ?? 8_000;
    this.#tries += 1;
    this.#around.after(wait, () => this.start());
  }

  /** A half-open socket says nothing for ever: after a silence it is closed from here. */
  #expectWord(): void {
    this.#cancelSilence();
    const socket = this.#socket;
    this.#cancelSilence = this.#around.after(SILENCE_MS, () => {
      if (socket === null || socket !== this.#socket) return;
      socket.close();
      this.#closed(socket, 1006);
    });
  }

  #show(some: Partial<LinkView>): void {
    this.#view = { ...this.#view, ...some };
    this.#around.changed(this.#view);
  }
}

function read(data: unknown): ToPhone | null {
  try {
    const message: unknown = JSON.parse(String(data));
    return typeof message === "object" && message !== null && "kind" in message ? (message as ToPhone) : null;
  } catch {
    return null;
  }
}
