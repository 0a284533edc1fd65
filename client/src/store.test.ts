import { describe, expect, it } from "vitest";
import { ALERTS, START_MS, snapshotAt, tickAt } from "../dev/scene.ts";
import { CLEARED_MAX, TRAIL_MAX } from "./limits.ts";
import { apply, type State, type TrailPoint } from "./store.ts";
import type { ToTablet } from "./wire/ToTablet.ts";

const begun = (): State => {
  const state = apply(null, { kind: "snapshot", ...snapshotAt(0) });
  if (state === null) throw new Error("a snapshot always makes a state");
  return state;
};

describe("apply", () => {
  it("ignores everything before the first snapshot", () => {
    expect(apply(null, { kind: "tick", ...tickAt(1) })).toBeNull();
  });

  it("lets nothing from before a gap survive a snapshot", () => {
    const before = apply(begun(), {
      kind: "log",
      at_ms: START_MS,
      by: "x",
      boat: null,
      alert: null,
      text: "old",
    });
    const fresh = { ...snapshotAt(60), alerts: [], log: [], trails: [] };
    const after = apply(before, { kind: "snapshot", ...fresh });
    expect(after?.alerts.size).toBe(0);
    expect(after?.log).toEqual([]);
    expect(after?.trails.size).toBe(0);
    expect(after?.nowMs).toBe(START_MS + 60_000);
  });

  it("changes no state in place", () => {
    const before = begun();
    const needs = before.needs;
    const trail = before.trails.get(2);
    const length = trail?.length;
    const after = apply(before, { kind: "tick", ...tickAt(5), needs: [] });
    expect(before.needs).toBe(needs);
    expect(trail?.length).toBe(length);
    expect(after?.needs).toEqual([]);
  });

  it("keeps boats that a tick does not name", () => {
    const after = apply(begun(), { kind: "tick", ...tickAt(5), boats: [] });
    expect(after?.boats.size).toBe(11);
  });

  it("adds a fix to the trail once, and none without a position", () => {
    let state: State | null = begun();
    const before = state?.trails.get(2)?.length ?? 0;
    state = apply(state, { kind: "tick", ...tickAt(3) });
    state = apply(state, { kind: "tick", ...tickAt(3) });
    expect(state?.trails.get(2)?.length).toBe(before + 1);
    expect(state?.trails.has(9)).toBe(false);
  });

  it("puts late positions where they belong", () => {
    let state: State | null = begun();
    const before = state?.trails.get(2) ?? [];
    for (const s of [1, 2, 60]) state = apply(state, { kind: "tick", ...tickAt(s) });
    const late = (s: number): TrailPoint => [START_MS + s * 1000, 5, 6, null, null];
    state = apply(state, { kind: "late", ix: 2, points: [late(20), late(30)] });
    const times = state?.trails
      .get(2)
      ?.slice(before.length)
      .map((point) => (point[0] - START_MS) / 1000);
    expect(times).toEqual([1, 2, 20, 30, 60]);
  });

  it("keeps trails within their bound, the newest last", () => {
    let state: State | null = begun();
    for (let s = 1; s <= TRAIL_MAX + 50; s += 1) state = apply(state, { kind: "tick", ...tickAt(s) });
    const trail = state?.trails.get(2) ?? [];
    expect(trail.length).toBe(TRAIL_MAX);
    expect(trail.at(-1)?.[0]).toBe(START_MS + (TRAIL_MAX + 50) * 1000);
  });

  it("forgets old cleared alerts, but never one that stands or that nobody saw", () => {
    let state: State | null = begun();
    const base = ALERTS[0];
    if (base === undefined) throw new Error("the scene has alerts");
    const cleared = { at_ms: START_MS, reason: "drill" };
    const said = { by: "Mara", at_ms: START_MS };
    for (let id = 100; id < 100 + CLEARED_MAX + 20; id += 1) {
      state = apply(state, { kind: "alert", ...base, id, cleared, acknowledged: said });
    }
    state = apply(state, { kind: "alert", ...base, id: 500, cleared, acknowledged: null });
    const kept = [...(state?.alerts.values() ?? [])];
    expect(kept.filter((alert) => alert.cleared !== null && alert.acknowledged !== null).length).toBe(
      CLEARED_MAX,
    );
    expect(state?.alerts.has(500)).toBe(true);
    expect(state?.alerts.has(21)).toBe(true);
  });

  const replaced: [string, ToTablet, (state: State) => unknown, unknown][] = [
    ["signal", { kind: "signal", signal: null }, (state) => state.signal, null],
    ["notices", { kind: "notices", notices: [] }, (state) => state.notices, []],
  ];
  it.each(replaced)("takes over %s as a whole", (_name, message, part, expected) => {
    const state = apply(begun(), message);
    expect(state === null ? undefined : part(state)).toEqual(expected);
  });
});
