// What an instructor asks of the chart and of the cards, on the invented scene and a server fed by hand.
import type { Browser, Page } from "playwright-core";
import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import { ALERTS, START_MS, snapshotAt, tickAt } from "../dev/scene.ts";
import type { Choices } from "../src/settings.svelte.ts";
import type { AlertState } from "../src/wire/AlertState.ts";
import { type FakeHub, startFakeHub } from "./fakehub.ts";
import { SIZES, type Size, spokenBy, startBrowser } from "./tablet.ts";

const [capsize] = ALERTS;
if (capsize === undefined) throw new Error("the scene has an alert");

let hub: FakeHub;
let browser: Browser;
let beat: NodeJS.Timeout | undefined;
/** Seconds into the scene. */
let second = 0;
const pages: Page[] = [];

beforeAll(async () => {
  hub = await startFakeHub((joined) => {
    second = 0;
    clearInterval(beat);
    const notices = [{ code: "x", text: 'Feed "mast": cannot be reached.', since_ms: START_MS }];
    const signal = {
      signal: "all-in",
      words: "Wind is rising",
      by: "Mara",
      at_ms: START_MS,
      seen: [],
      reachable: [],
    };
    joined.say({ kind: "snapshot", ...snapshotAt(0), notices, signal });
    // The boats stand still, so that what is measured on the chart does not sail away.
    beat = setInterval(() => {
      second += 0.5;
      joined.say({ kind: "tick", ...tickAt(0), now_ms: START_MS + second * 1000 });
    }, 500);
  });
  browser = await startBrowser();
});

afterEach(async () => {
  for (const page of pages.splice(0)) await page.context().close();
});

afterAll(async () => {
  clearInterval(beat);
  await browser.close();
  hub.close();
});

async function open(choices: Partial<Choices> = {}, size: Size = "lying"): Promise<Page> {
  const [width, height] = SIZES[size];
  const context = await browser.newContext({ viewport: { width, height }, reducedMotion: "reduce" });
  const page = await context.newPage();
  pages.push(page);
  await page.addInitScript((chosen) => {
    localStorage.setItem("dunlin-cautions", "4");
    localStorage.setItem("dunlin-choices", JSON.stringify({ ownBoat: "S1", ...chosen }));
    const spoken: string[] = [];
    Object.assign(globalThis, { spoken });
    speechSynthesis.speak = (utterance) => void spoken.push(utterance.text);
  }, choices);
  await page.goto(hub.base);
  await page.locator(".boat-canvas").waitFor();
  await page.getByRole("article").first().waitFor();
  return page;
}

/** Metres a pixel as the scale bar says. */
async function scaleOf(page: Page): Promise<number> {
  const bar = page.locator(".scale");
  const [words, box] = [await bar.innerText(), await bar.boundingBox()];
  const [, figure = "", unit = ""] = /([\d.½]+)\s*(m|km|nm)/.exec(words) ?? [];
  const metres = Number(figure.replace("½", "0.5")) * { m: 1, km: 1000, nm: 1852 }[unit as "m" | "km" | "nm"];
  return metres / (box?.width ?? Number.NaN);
}

/** By how much the chart is turned: what is up, degrees true. */
async function upOf(page: Page): Promise<number> {
  const turned = await page.locator(".up g").getAttribute("transform");
  return (360 - Number(/rotate\((-?[\d.]+)\)/.exec(turned ?? "")?.[1])) % 360;
}

describe("the chart", () => {
  it("measures distance and bearing between two points", async () => {
    const page = await open({ units: "metric" });
    await page.getByRole("button", { name: "Measure" }).click();
    const hint = page.getByRole("status").filter({ hasText: "Touch two points" });
    await hint.waitFor();
    const scale = await scaleOf(page);
    const map = await page.locator(".map").boundingBox();
    if (map === null) throw new Error("no chart");
    const [x, y] = [map.x + 150, map.y + 150];
    for (const [dx, dy, bearing] of [
      [200, 0, "090°"],
      [0, 200, "180°"],
    ] as const) {
      await page.mouse.click(x, y);
      await page.waitForTimeout(400); // two quick touches would be a double one
      await page.mouse.click(x + dx, y + dy);
      const told = page.locator(".hint", { hasText: bearing });
      await told.waitFor();
      const [, figure = "", unit = ""] = /([\d.]+)\s*(m|km)/.exec(await told.innerText()) ?? [];
      const metres = Number(figure) * (unit === "km" ? 1000 : 1);
      // The scale bar is a whole number of pixels, and distances are told round.
      expect(Math.abs(metres / (200 * scale) - 1)).toBeLessThan(0.04);
      await page.waitForTimeout(400);
    }
  });

  it("goes to us, to the one in need, and back to all", async () => {
    const page = await open();
    const all = await scaleOf(page);
    await page.getByRole("button", { name: "Us", exact: true }).click();
    await expect.poll(() => scaleOf(page)).toBeLessThan(all * 0.6);
    const us = await scaleOf(page);
    // We are in the middle of what the buttons leave free: a touch there opens our own sheet.
    await page.getByRole("button", { name: "In need" }).click();
    await expect.poll(() => scaleOf(page)).toBeGreaterThan(us * 1.2);
    expect(await scaleOf(page)).toBeLessThan(all);
    await page.getByRole("button", { name: "All", exact: true }).click();
    await expect.poll(() => scaleOf(page)).toBeCloseTo(all, 1);
    await page.getByRole("button", { name: "Zoom in" }).click();
    await expect.poll(() => scaleOf(page)).toBeLessThan(all * 0.6);
    // And there it stays, though pictures go on coming.
    const closer = await scaleOf(page);
    await page.waitForTimeout(1_500);
    expect(await scaleOf(page)).toBeCloseTo(closer, 2);
  });

  it("stays where a hand has dragged it", async () => {
    const page = await open();
    await page.getByRole("button", { name: "Us", exact: true }).click();
    const [map, tools] = [
      await page.locator(".map").boundingBox(),
      await page.locator(".tools").boundingBox(),
    ];
    if (map === null || tools === null) throw new Error("no chart");
    // Alone on it, we lie in the middle of what plates and buttons leave free.
    const [x, y] = [map.x + (map.width - tools.width + 40) / 2, map.y + (map.height - 10) / 2];
    await page.waitForTimeout(800);
    await page.mouse.move(x - 60, y + 90);
    await page.mouse.down();
    await page.mouse.move(x + 60, y + 130, { steps: 8 });
    await page.waitForTimeout(300); // held still, so that it does not glide on
    await page.mouse.up();
    await page.getByRole("button", { name: "Us", exact: true, pressed: false }).waitFor();
    await page.waitForTimeout(1_500);
    await page.mouse.click(x + 120, y + 40);
    await page.getByRole("heading", { name: "S1 Tern" }).waitFor();
  });

  it("turns to the wind and to our bow", async () => {
    const page = await open();
    expect(await upOf(page)).toBe(0);
    await page.getByRole("button", { name: "North up" }).click();
    // The scene's wind is from 225 degrees, our bow at 45.
    await expect.poll(() => upOf(page)).toBeCloseTo(225, 0);
    await page.getByRole("button", { name: "Wind up" }).click();
    await expect.poll(() => upOf(page)).toBeCloseTo(45, 0);
    await page.getByRole("button", { name: "Bow up" }).click();
    await expect.poll(() => upOf(page)).toBeCloseTo(0, 0);
  });

  it("lies on the other side for the left hand, its buttons too, and slides run the other way", async () => {
    const page = await open({ hand: "left" });
    const box = async (what: string) =>
      (await page.locator(what).first().boundingBox()) ?? { x: -1, width: 0 };
    const [chart, panel, tools] = [await box(".chart"), await box(".panel"), await box(".tools")];
    expect(panel.x).toBeLessThan(chart.x);
    expect(tools.x - chart.x).toBeLessThan(20);
    const [slide, handle] = [await box(".slide"), await box(".slide .handle")];
    expect(handle.x).toBeGreaterThan(slide.x + slide.width / 2);
  });
});

describe("somebody in need", () => {
  it.each(["lying", "upright", "phone"] as const)(
    "can be acted upon at the first glance, %s, without sound, with a notice and a signal",
    async (size) => {
      const page = await open({}, size);
      await page.getByText("NO SOUND", { exact: true }).waitFor();
      const rail = await page.locator(".rail").boundingBox();
      const card = page.getByRole("article").first();
      for (const name of ["Seen", "I'm going", "All clear"]) {
        const button = await card.getByRole("button", { name, exact: true }).boundingBox();
        if (button === null || rail === null) throw new Error(`no ${name}`);
        expect(button.y + button.height, name).toBeLessThanOrEqual(rail.y - 2);
        expect(button.height, name).toBeGreaterThanOrEqual(64);
        // Nothing lies over it.
        const top = await page.evaluate(
          ([x, y]) => document.elementFromPoint(x ?? 0, y ?? 0)?.closest("button")?.innerText,
          [button.x + button.width / 2, button.y + button.height - 6],
        );
        expect(top).toBe(name);
      }
    },
  );

  it("is drifting somewhere in an area, told in figures", async () => {
    const page = await open();
    await page.getByRole("article").first().getByRole("button", { name: "07" }).first().click();
    await page.getByRole("button", { name: "Rescue of 07" }).click();
    await page.getByText(/in 5 min: an area \d+ m across/).waitFor();
    await page.getByText(/in 10 min: an area \d+ m across/).waitFor();
  });

  it("passes the break points of 3, 10 and 30 minutes", async () => {
    const page = await open();
    await page.getByRole("article").first().getByRole("button", { name: "07" }).first().click();
    await page.getByRole("button", { name: "Rescue of 07" }).click();
    const now = page.locator(".stages [aria-current=step]");
    for (const [minutes, stage] of [
      [2.9, "0–3"],
      [3.1, "3–10"],
      [9.9, "3–10"],
      [10.1, "10–30"],
      [30.1, "30+ min"],
    ] as const) {
      const began_ms = START_MS + second * 1000 - minutes * 60_000;
      hub.say({ kind: "alert", ...(capsize as AlertState), began_ms });
      await expect.poll(() => now.innerText()).toBe(stage);
    }
  });

  it("sounds again when its silence is over, as IMO MSC.252(83) 20.2.5 asks", async () => {
    const page = await open();
    await page.getByText("NO SOUND", { exact: true }).click();
    const heard = page.locator("[data-sound]");
    await expect.poll(() => heard.getAttribute("data-sound")).toBe("alarm");
    const until = START_MS + second * 1000 + 3_000;
    hub.say({ kind: "alert", ...(capsize as AlertState), silenced: { by: "Niels", at_ms: until } });
    await expect.poll(() => heard.getAttribute("data-sound")).not.toBe("alarm");
    await expect.poll(() => heard.getAttribute("data-sound"), { timeout: 8_000 }).toBe("alarm");
    expect(second * 1000 + START_MS).toBeGreaterThanOrEqual(until - 600);
  });

  it("is announced to a screen reader, who and where, without taking the focus", async () => {
    const page = await open();
    const focus = () => page.evaluate(() => document.activeElement?.tagName);
    const before = await focus();
    hub.say({ kind: "alert", ...(capsize as AlertState), level: "emergency" });
    // The scene has her 297 m off, bearing 045 degrees.
    const told = page
      .getByRole("alert")
      .filter({ hasText: "Seven. Possible capsize. North-east, three hundred metres." });
    await told.waitFor({ state: "attached" });
    expect(await focus()).toBe(before);
  });

  it("is given to us by somebody else: said aloud, and ours only when we say so", async () => {
    const page = await open();
    await page.getByText("NO SOUND", { exact: true }).click();
    const attended = { boat: 0, by: "Mara", at_ms: START_MS + 1_000 };
    hub.say({
      kind: "alert",
      ...(capsize as AlertState),
      acknowledged: { by: "Mara", at_ms: START_MS },
      attended,
    });
    const card = page.getByRole("article").first();
    await card.getByText("Mara sends us. Are we going?").waitFor();
    await expect.poll(() => spokenBy(page), { timeout: 6_000 }).toContain("Mara sends us to Seven.");
    await card.getByRole("button", { name: "I'm going" }).waitFor();
    hub.say({
      kind: "alert",
      ...(capsize as AlertState),
      acknowledged: { by: "Mara", at_ms: START_MS },
      attended: { ...attended, by: "Niels", at_ms: START_MS + 2_000 },
    });
    await card.getByText("We are going").waitFor();
    await card.getByRole("button", { name: "Open" }).waitFor();
  });
});
