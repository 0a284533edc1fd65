import { describe, expect, it } from "vitest";
import { snapshotAt } from "../dev/scene.ts";
import { LINK_LOST_MS, LINK_SLOW_MS, RETRY_FIRST_MS, RETRY_MAX_MS } from "./limits.ts";
import { backOffMs, Link, linkState, type SocketLike } from "./socket.ts";
import type { ToTablet } from "./wire/ToTablet.ts";

/** A world with a clock that only the test moves. */
function world() {
  let now = 0;
  const timers: { at: number; run: () => void }[] = [];
  const sockets: (SocketLike & { sent: string[]; closed: boolean })[] = [];
  const heard: ToTablet[] = [];
  let drops = 0;
  let strangers = 0;
  const link = new Link(
    {
      open: () => {
        const socket = {
          onopen: null,
          onmessage: null,
          onclose: null,
          sent: [] as string[],
          closed: false,
          send(text: string) {
            socket.sent.push(text);
          },
          close() {
            socket.closed = true;
          },
        } as SocketLike & { sent: string[]; closed: boolean };
        sockets.push(socket);
        return socket;
      },
      steadyNow: () => now,
      after: (ms, run) => {
        const timer = { at: now + ms, run };
        timers.push(timer);
        return () => timers.splice(timers.indexOf(timer), 1);
      },
    },
    {
      message: (message) => heard.push(message),
      dropped: () => {
        drops += 1;
      },
      refused: () => {
        strangers += 1;
      },
    },
  );
  const pass = (ms: number) => {
    now += ms;
    for (const timer of timers.filter(({ at }) => at <= now)) {
      timers.splice(timers.indexOf(timer), 1);
      timer.run();
    }
    link.look();
  };
  const last = () => {
    const socket = sockets.at(-1);
    if (socket === undefined) throw new Error("no socket was opened");
    return socket;
  };
  const say = (data: unknown) => last().onmessage?.({ data });
  return { link, pass, last, say, heard, sockets, drops: () => drops, strangers: () => strangers };
}

const snapshot = JSON.stringify({ kind: "snapshot", ...snapshotAt(0) });

describe("linkState", () => {
  it.each([
    [null, "lost"],
    [0, "live"],
    [LINK_SLOW_MS - 1, "live"],
    [LINK_SLOW_MS, "slow"],
    [LINK_LOST_MS - 1, "slow"],
    [LINK_LOST_MS, "lost"],
  ] as const)("%s ms of silence is %s", (silent, expected) => {
    expect(linkState(silent)).toBe(expected);
  });
});

describe("backOffMs", () => {
  it.each([
    [0, RETRY_FIRST_MS],
    [1, 2 * RETRY_FIRST_MS],
    [3, 8 * RETRY_FIRST_MS],
    [9, RETRY_MAX_MS],
    [4000, RETRY_MAX_MS],
  ])("after %i failures waits %i ms", (failures, expected) => {
    expect(backOffMs(failures)).toBe(expected);
  });
});

describe("Link", () => {
  it("hands on messages and says nothing of what is none", () => {
    const { link, last, say, heard } = world();
    link.start();
    last().onopen?.();
    say(snapshot);
    for (const rubbish of ["", "{", "[1]", "null", '{"no":"kind"}', new Uint8Array(3)]) say(rubbish);
    expect(heard.map(({ kind }) => kind)).toEqual(["snapshot"]);
  });

  it("gives up a socket that went quiet without saying goodbye, and tries again", () => {
    const { link, pass, last, say, sockets, drops } = world();
    link.start();
    last().onopen?.();
    say(snapshot);
    pass(LINK_LOST_MS);
    expect(sockets[0]?.closed).toBe(true);
    expect(drops()).toBe(1);
    pass(RETRY_FIRST_MS);
    expect(sockets.length).toBe(2);
  });

  it("keeps the time it last heard something through a new connection that says nothing", () => {
    const { link, pass, last, say } = world();
    link.start();
    last().onopen?.();
    pass(100);
    say(snapshot);
    pass(LINK_LOST_MS);
    pass(RETRY_FIRST_MS);
    last().onopen?.();
    expect(link.heardMs).toBe(100);
  });

  it("does not listen to a socket that it has given up", () => {
    const { link, pass, last, say, sockets, heard } = world();
    link.start();
    last().onopen?.();
    say(snapshot);
    pass(LINK_LOST_MS);
    sockets[0]?.onmessage?.({ data: snapshot });
    expect(heard.length).toBe(1);
  });

  it("refuses to send before the socket is open", () => {
    const { link, last } = world();
    link.start();
    const message = { request: 1, action: { kind: "acknowledge", alert: 1 } } as const;
    expect(link.send(message)).toBe(false);
    last().onopen?.();
    expect(link.send(message)).toBe(true);
    expect(JSON.parse(last().sent[0] ?? "")).toEqual(message);
  });

  it("asks who we are when a socket never opened, or the server turned us away", () => {
    const { link, pass, last, strangers } = world();
    link.start();
    last().onclose?.({ code: 1006 });
    expect(strangers()).toBe(1);
    pass(RETRY_FIRST_MS);
    last().onopen?.();
    last().onclose?.({ code: 1006 });
    expect(strangers()).toBe(1);
    pass(RETRY_MAX_MS);
    last().onopen?.();
    last().onclose?.({ code: 4401 });
    expect(strangers()).toBe(2);
  });

  it("tries at once when hurried, and opens no second socket beside a first", () => {
    const { link, last, sockets } = world();
    link.start();
    link.hurry();
    expect(sockets.length).toBe(1);
    last().onclose?.({ code: 1006 });
    link.hurry();
    expect(sockets.length).toBe(2);
  });
});
