// What leaves the tablet for the ear: the tones as they reach the speaker, and the words.
import type { Page } from "playwright-core";
import { describe, expect, it } from "vitest";
import { PATTERNS } from "../src/sound/patterns.ts";
import { afloat, allClear, cardOf } from "./afloat.ts";
import { markByHand, spokenBy, type Tablet } from "./tablet.ts";

const { tablet } = afloat();

/** Listens at the speaker: every tone that is started, and what arrives at the end of the graph. */
async function listen({ page }: Tablet): Promise<void> {
  await page.addInitScript(() => {
    const heard = { tones: [] as { hz: number; at: number }[], meters: [] as AnalyserNode[] };
    Object.assign(globalThis, { heard });
    const start = OscillatorNode.prototype.start;
    OscillatorNode.prototype.start = function (when) {
      heard.tones.push({ hz: Math.round(this.frequency.value), at: when ?? 0 });
      start.call(this, when);
    };
    const connect = AudioNode.prototype.connect as (this: AudioNode, to: AudioNode) => AudioNode;
    AudioNode.prototype.connect = function (this: AudioNode, to: AudioNode) {
      if (to instanceof AudioDestinationNode) {
        const meter = new AnalyserNode(this.context, { fftSize: 2048 });
        connect.call(this, meter);
        heard.meters.push(meter);
      }
      return connect.call(this, to);
    } as typeof AudioNode.prototype.connect;
  });
  await page.reload();
  await page.locator("header.bar").waitFor();
}

interface Heard {
  tones: { hz: number; at: number }[];
  meters: AnalyserNode[];
}

const tones = (page: Page) => page.evaluate(() => (globalThis as unknown as { heard: Heard }).heard.tones);

/** The loudest sample at the speaker within so many milliseconds; full scale is 1. */
const loudest = (page: Page, ms: number) =>
  page.evaluate(async (during) => {
    const { meters } = (globalThis as unknown as { heard: Heard }).heard;
    let most = 0;
    const until = performance.now() + during;
    const samples = new Float32Array(2048);
    while (performance.now() < until) {
      for (const meter of meters) {
        meter.getFloatTimeDomainData(samples);
        for (const sample of samples) most = Math.max(most, Math.abs(sample));
      }
      await new Promise((done) => setTimeout(done, 20));
    }
    return most;
  }, ms);

describe("sound", () => {
  it("reaches the speaker with the alarm's own tones until somebody has seen it, then no more", async () => {
    const one = await tablet();
    await listen(one);
    const { page } = one;
    await page.getByText("NO SOUND", { exact: true }).click();
    await page.locator('.page[data-sound-ready="true"]').waitFor();
    expect(await loudest(page, 600), "quiet before").toBe(0);
    await markByHand(page, "07", "Capsized");
    await expect.poll(async () => (await tones(page)).length, { timeout: 20_000 }).toBeGreaterThan(0);
    expect(await loudest(page, 5_500), "at the speaker").toBeGreaterThan(0.2);
    const { burst } = PATTERNS.alarm;
    const played = (await tones(page)).slice(0, burst.length);
    expect(played.map(({ hz }) => hz)).toEqual(burst.map(({ hz }) => hz));
    const begin = played[0]?.at ?? 0;
    for (const [index, { atS }] of burst.entries())
      expect((played[index]?.at ?? 0) - begin).toBeCloseTo(atS, 3);
    await page.getByRole("button", { name: /Back/ }).click();
    await cardOf(one, "07").getByRole("button", { name: "Seen", exact: true }).click();
    await page.locator('.page[data-sound="quiet"]').waitFor();
    await page.waitForTimeout(1_500); // The last burst ends.
    const before = (await tones(page)).length;
    expect(await loudest(page, 6_000), "quiet after").toBe(0);
    expect((await tones(page)).length).toBe(before);
    await allClear(one, "07");
  });

  it("sounds another pattern for another level", async () => {
    const one = await tablet();
    await listen(one);
    const { page } = one;
    await page.getByText("NO SOUND", { exact: true }).click();
    await markByHand(page, "08", "Person overboard");
    const { burst } = PATTERNS.emergency;
    await expect
      .poll(async () => (await tones(page)).slice(0, burst.length).map(({ hz }) => hz), { timeout: 20_000 })
      .toEqual(burst.map(({ hz }) => hz));
    await page.getByRole("button", { name: /Back/ }).click();
    await allClear(one, "08");
  });

  it("sounds when the link is lost, and says so", async () => {
    const one = await tablet();
    await listen(one);
    const { page } = one;
    await page.getByText("NO SOUND", { exact: true }).click();
    one.wire.cut = true;
    await page.getByRole("heading", { name: /^Not watching/ }).waitFor({ timeout: 40_000 });
    await expect.poll(async () => (await tones(page)).length, { timeout: 20_000 }).toBeGreaterThan(0);
    await expect
      .poll(async () => (await spokenBy(page)).join("\n"), { timeout: 20_000 })
      .toContain("Not watching. The link to the server is lost.");
  });
});

describe("speech", () => {
  it("says who, what, which way and how far", async () => {
    const one = await tablet();
    await one.page.getByText("NO SOUND", { exact: true }).click();
    await markByHand(one.page, "07", "Capsized");
    await expect
      .poll(async () => (await spokenBy(one.page)).join("\n"), { timeout: 30_000 })
      .toMatch(/^Seven\. Possible capsize\. (North|South|East|West)[a-z-]*, .+ (metres|miles)\.$/m);
    await one.page.getByRole("button", { name: /Back/ }).click();
    await allClear(one, "07");
  });

  it("speaks the language of the screen", async () => {
    const one = await tablet({ choices: { ownBoat: "S1", language: "nl" } });
    const { page } = one;
    await page.getByText("GEEN GELUID", { exact: true }).click();
    await page.getByRole("button", { name: "Boten", exact: true }).click();
    await page
      .locator("main li button")
      .filter({ has: page.locator(".id", { hasText: /^\s*06\s*$/ }) })
      .click();
    await page.getByRole("button", { name: "Omgeslagen", exact: true }).click();
    await expect
      .poll(async () => (await spokenBy(page)).join("\n"), { timeout: 30_000 })
      .toMatch(/^Zes\. Mogelijk omgeslagen\./m);
    await page.getByRole("button", { name: /^‹ Terug/ }).click();
    // Why it stands is told in Dutch as well.
    await cardOf(one, "06").getByText("Robin zegt: omgeslagen").waitFor();
    const two = await tablet();
    await cardOf(two, "06").getByText("Robin says: capsized").waitFor();
    await allClear(two, "06");
  });
});
