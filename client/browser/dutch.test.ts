// Every sentence that the demonstration says has its Dutch words.
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { said } from "../src/strings/said.ts";
import type { Snapshot } from "../src/wire/Snapshot.ts";
import { type Program, startDemo } from "./program.ts";

/** A quarter of an hour of the demonstration is heard in the time below. */
const SPEED = 20;
const LISTEN_MS = 45_000;
const EVERY_MS = 500;

let program: Program;

beforeAll(async () => {
  program = await startDemo(SPEED);
});

afterAll(async () => {
  await program.kill();
});

/** All that the server said in words of its own. */
function sentences({ alerts, tick, notices, day, log }: Snapshot): string[] {
  return [
    ...alerts.flatMap(({ evidence, cleared }) => [
      ...evidence,
      ...(cleared === null ? [] : [cleared.reason]),
    ]),
    ...notices.map(({ text }) => text),
    ...log.filter(({ by }) => by === "dunlin").map(({ text }) => text),
    ...(day.cover?.thin == null ? [] : [day.cover.thin]),
    // With one instrument it is her name alone, which is the same in every language.
    ...(tick.wind?.because.includes(" ") === true ? [tick.wind.because] : []),
  ];
}

describe("the demonstration in Dutch", () => {
  it("says nothing that stays English", async () => {
    const heard = new Set<string>();
    const until = performance.now() + LISTEN_MS;
    while (performance.now() < until) {
      const snapshot = (await (await fetch(`${program.base}/api/snapshot`)).json()) as Snapshot;
      for (const sentence of sentences(snapshot)) heard.add(sentence);
      await new Promise((done) => setTimeout(done, EVERY_MS));
    }
    const foreign = [...heard].filter((sentence) => said("nl", sentence).isForeign);
    expect(foreign).toEqual([]);
    // Enough was said for that to mean something.
    expect(heard.size).toBeGreaterThan(20);
  });
});
