import { expect, test } from "vitest";
import { type LinkView, PhoneLink, type Socket } from "./link.ts";
import { memoryShelf, Queue } from "./queue.ts";
import type { FromPhone, ToPhone } from "./wire.ts";

class Wire implements Socket {
  onopen: (() => void) | null = null;
  onmessage: ((event: { data: unknown }) => void) | null = null;
  onclose: ((event: { code: number }) => void) | null = null;
  sent: FromPhone[] = [];
  closed = false;
  send(text: string): void {
    this.sent.push(JSON.parse(text));
  }
  close(): void {
    this.closed = true;
  }
  say(message: ToPhone): void {
    this.onmessage?.({ data: JSON.stringify(message) });
  }
}

async function world() {
  const queue = await Queue.open(memoryShelf("r1"));
  const wires: Wire[] = [];
  const timers: { ms: number; run: () => void; off: boolean }[] = [];
  const seen: { view: LinkView | null } = { view: null };
  const link = new PhoneLink("key", queue, {
    open: () => {
      const wire = new Wire();
      wires.push(wire);
      return wire;
    },
    steadyNow: () => 0,
    after: (ms, run) => {
      const timer = { ms, run, off: false };
      timers.push(timer);
      return () => {
        timer.off = true;
      };
    },
    changed: (view) => {
      seen.view = view;
    },
  });
  link.start();
  return { queue, wires, timers, seen, link };
}

const welcome: ToPhone = { kind: "welcome", v: 1, boat: "07", centre: "Sandling", now_ms: 0, acked: null };

function last<T>(list: T[]): T {
  const item = list.at(-1);
  if (item === undefined) throw new Error("empty");
  return item;
}

test("fixes wait for the welcome and are sent again after a gap until they are confirmed", async () => {
  const { queue, wires, timers, link } = await world();
  queue.add({ t: 1 });
  link.flush();
  last(wires).onopen?.();
  expect(last(wires).sent.map((message) => message.kind)).toEqual(["hello"]);
  last(wires).say(welcome);
  expect(last(wires).sent.map((message) => message.kind)).toEqual(["hello", "fixes"]);
  last(wires).onclose?.({ code: 1006 });
  last(timers).run();
  last(wires).onopen?.();
  last(wires).say(welcome);
  expect(last(last(wires).sent)).toMatchObject({ kind: "fixes", fixes: [{ seq: 1 }] });
  last(wires).say({ kind: "ack", seq: 1, refused: [] });
  expect(queue.waiting).toBe(0);
});

test("a server that falls silent without closing is left", async () => {
  const { wires, timers } = await world();
  last(wires).onopen?.();
  last(wires).say(welcome);
  const silence = last(timers.filter((timer) => !timer.off));
  silence.run();
  expect(last(wires).closed).toBe(true);
  last(timers).run();
  expect(wires.length).toBe(2);
});

test("a wrong key is not tried again", async () => {
  const { wires, timers, seen } = await world();
  last(wires).onopen?.();
  last(wires).onclose?.({ code: 4003 });
  expect(seen.view?.state).toBe("wrong-key");
  expect(timers.filter((timer) => !timer.off).length).toBe(0);
});

test("rubbish from the server changes nothing", async () => {
  const { wires, seen } = await world();
  last(wires).onmessage?.({ data: "{" });
  last(wires).onmessage?.({ data: "[]" });
  expect(seen.view).toBeNull();
});
