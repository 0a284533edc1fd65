import { readdirSync, readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { snapshotAt } from "../dev/scene.ts";
import { apply, fromSnapshot } from "./store.ts";
import type { ToTablet } from "./wire/ToTablet.ts";

// The same files that the server's tests write and read: what it says is what we understand.
const folder = new URL("../../tests/wire/", import.meta.url);
const files = readdirSync(folder).filter((name) => name.startsWith("to_tablet."));
const read = (name: string): ToTablet => JSON.parse(readFileSync(new URL(name, folder), "utf8"));

describe("messages of the server", () => {
  it("are all there", () => {
    expect(files.length).toBeGreaterThanOrEqual(12);
  });

  it.each(files)("%s changes the state, but for an answer", (name) => {
    const before = fromSnapshot(snapshotAt(0));
    const message = read(name);
    const after = apply(before, message);
    if (message.kind === "outcome") expect(after).toBe(before);
    else expect(after).not.toBe(before);
  });

  it("make a whole state of a snapshot", () => {
    const state = apply(null, read("to_tablet.snapshot.json"));
    expect(state?.boats.size).toBeGreaterThan(0);
    expect(state?.alerts.size).toBeGreaterThan(0);
    for (const part of Object.values(state ?? {})) expect(part).not.toBeUndefined();
  });
});
