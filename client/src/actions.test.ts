import { describe, expect, it } from "vitest";
import { type AskedList, answered, asking, dismissed, hasRoom, linkLost, waitingFor } from "./actions.ts";
import { ACTIONS_MAX } from "./limits.ts";

const seen = { kind: "acknowledge", alert: 7 } as const;

describe("what was asked", () => {
  it("waits until the server has answered", () => {
    const waiting = asking([], 1, seen, 0);
    expect(waitingFor(waiting, 7)?.request).toBe(1);
    const done = answered(waiting, { request: 1, refused: null, undo: 44 });
    expect(done[0]?.fate).toEqual({ is: "done", undo: 44 });
    expect(waitingFor(done, 7)).toBeNull();
  });

  it("keeps the server's reason for a refusal", () => {
    const list = answered(asking([], 1, seen, 0), { request: 1, refused: "is over", undo: null });
    expect(list[0]?.fate).toEqual({ is: "refused", reason: "is over" });
  });

  it("does not claim to know what became of it when the link is lost", () => {
    const list = linkLost(
      asking(answered(asking([], 1, seen, 0), { request: 1, refused: null, undo: null }), 2, seen, 1),
    );
    expect(list.map(({ fate }) => fate.is)).toEqual(["done", "unknown"]);
  });

  it("ignores an answer to nothing it asked", () => {
    const list = asking([], 1, seen, 0);
    expect(answered(list, { request: 9, refused: null, undo: null })).toEqual(list);
  });

  it("is full at its bound and stays bounded", () => {
    let list: AskedList = [];
    for (let request = 0; request < ACTIONS_MAX; request += 1) list = asking(list, request, seen, 0);
    expect(hasRoom(list)).toBe(false);
    for (let request = 0; request < 500; request += 1) {
      list = answered(asking(list, request, seen, 0), { request, refused: null, undo: null });
    }
    expect(list.length).toBeLessThanOrEqual(2 * ACTIONS_MAX);
  });

  it("forgets what a person has read", () => {
    expect(dismissed(asking([], 3, seen, 0), 3)).toEqual([]);
  });
});
