import { expect, test } from "vitest";
import { KEPT_MAX, memoryShelf, Queue } from "./queue.ts";

test("a fix is kept until it is confirmed, and numbers never come twice", async () => {
  const queue = await Queue.open(memoryShelf("r"));
  const seqs = [1, 2, 3].map((t) => queue.add({ t }).seq);
  expect(seqs).toEqual([1, 2, 3]);
  queue.confirm(2);
  expect(queue.after(0, 10).map((fix) => fix.seq)).toEqual([3]);
  expect(queue.add({ t: 4 }).seq).toBe(4);
});

test("a restart of the page goes on where it stopped", async () => {
  const kept = {
    run: "r",
    last: 7,
    fixes: [
      { seq: 6, t: 1 },
      { seq: 7, t: 2 },
    ],
  };
  const queue = await Queue.open({ ...memoryShelf("r"), load: () => Promise.resolve(kept) });
  expect(queue.waiting).toBe(2);
  expect(queue.add({ t: 3 }).seq).toBe(8);
});

test("a shelf that fails holds nothing up", async () => {
  const broken = { ...memoryShelf("r"), put: () => Promise.reject(new Error("full")) };
  const queue = await Queue.open(broken);
  queue.add({ t: 1 });
  expect(queue.waiting).toBe(1);
});

test("when too many wait the oldest go and are counted", async () => {
  const queue = await Queue.open(memoryShelf("r"));
  for (let t = 0; t < KEPT_MAX + 3; t += 1) queue.add({ t });
  expect(queue.waiting).toBe(KEPT_MAX);
  expect(queue.lost).toBe(3);
  expect(queue.after(0, 1)[0]?.seq).toBe(4);
});
