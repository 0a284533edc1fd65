// What does not depend on seeing colours, on things that move, or on touching the glass.
import type { Browser, BrowserContext, CDPSession, Locator, Page } from "playwright-core";
import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import { NEEDS, START_MS, snapshotAt, tickAt } from "../dev/scene.ts";
import type { AlertState } from "../src/wire/AlertState.ts";
import { type FakeHub, startFakeHub } from "./fakehub.ts";
import { startBrowser } from "./tablet.ts";

const LEVELS = ["emergency", "alarm", "warning", "caution"] as const;

let hub: FakeHub;
let beating: ReturnType<typeof setInterval> | undefined;
let browser: Browser;
const contexts: BrowserContext[] = [];

/** An alert of each level, on the invented scene. */
function everyLevel(): AlertState[] {
  const [first] = snapshotAt(0).alerts;
  if (first === undefined) throw new Error("the scene has no alert");
  return LEVELS.map((level, index) => ({
    ...first,
    id: 40 + index,
    boat: index + 2,
    level,
    about: ["person-overboard", "capsize", "lost-contact", "stopped"][index] ?? "capsize",
    raised_ms: START_MS,
    acknowledged: null,
    attended: null,
  }));
}

beforeAll(async () => {
  hub = await startFakeHub((joined) => {
    const scene = snapshotAt(0);
    const [need] = NEEDS;
    if (need === undefined) throw new Error("the scene has no need");
    const alerts = everyLevel();
    const needs = alerts.map(({ id, boat }) => ({ ...need, alert: id, boat }));
    joined.say({ kind: "snapshot", ...scene, alerts, tick: { ...scene.tick, needs } });
    // A server that says nothing for 5 s has its pages shaded as not watching: on a slow machine that
    // shade would be measured instead of the cards.
    clearInterval(beating);
    let second = 0;
    beating = setInterval(() => {
      second += 1;
      joined.say({ kind: "tick", ...tickAt(0), now_ms: START_MS + second * 1000, needs });
    }, 1000);
  });
  browser = await startBrowser();
});

afterEach(async () => {
  for (const each of contexts.splice(0)) await each.close();
});

afterAll(async () => {
  clearInterval(beating);
  await browser.close();
  hub.close();
});

async function open(options: Parameters<Browser["newContext"]>[0] = {}, theme = "sun"): Promise<Page> {
  const context = await browser.newContext({ viewport: { width: 1180, height: 1600 }, ...options });
  contexts.push(context);
  const page = await context.newPage();
  await page.addInitScript((chosen) => {
    localStorage.setItem("dunlin-cautions", "4");
    localStorage.setItem("dunlin-choices", JSON.stringify({ ownBoat: "S1", theme: chosen }));
  }, theme);
  await page.goto(hub.base);
  await page.getByRole("article").nth(3).waitFor();
  return page;
}

/** Contrast of the ink with its ground as drawn, by W3C WCAG 2.2: the darkest and the lightest that are not rare. */
async function contrastDrawn(page: Page, part: Locator): Promise<number> {
  const png = (await part.screenshot()).toString("base64");
  return page.evaluate(async (data) => {
    // By hand, since the pages' own rules let nothing be fetched from a data address.
    const bytes = Uint8Array.from(atob(data), (letter) => letter.charCodeAt(0));
    const image = await createImageBitmap(new Blob([bytes], { type: "image/png" }));
    const canvas = new OffscreenCanvas(image.width, image.height);
    const ctx = canvas.getContext("2d");
    if (ctx === null) return 0;
    ctx.drawImage(image, 0, 0);
    const { data: pixels } = ctx.getImageData(0, 0, image.width, image.height);
    const counts = new Map<string, number>();
    for (let at = 0; at < pixels.length; at += 4) {
      const key = `${pixels[at]},${pixels[at + 1]},${pixels[at + 2]}`;
      counts.set(key, (counts.get(key) ?? 0) + 1);
    }
    const luminance = (key: string) => {
      const [r = 0, g = 0, b = 0] = key.split(",").map((part) => {
        const c = Number(part) / 255;
        return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
      });
      return 0.2126 * r + 0.7152 * g + 0.0722 * b;
    };
    // The ground is what there is most of; the ink the solid colour that stands out most from it.
    const common = [...counts].sort((a, b) => b[1] - a[1]);
    const ground = luminance(common[0]?.[0] ?? "0,0,0");
    const solid = common.filter(([, count]) => count > (pixels.length / 4) * 0.004);
    const ratios = solid.map(([key]) => {
      const ink = luminance(key);
      return (Math.max(ink, ground) + 0.05) / (Math.min(ink, ground) + 0.05);
    });
    return Math.max(...ratios);
  }, png);
}

const see = (
  session: CDPSession,
  type: "none" | "achromatopsia" | "deuteranopia" | "protanopia" | "tritanopia",
) => session.send("Emulation.setEmulatedVisionDeficiency", { type });

describe("without seeing colours", () => {
  it("tells each level by a word of its own and by an outline of its own", async () => {
    const page = await open();
    const cards = await page.getByRole("article").evaluateAll((articles) =>
      articles.map((article) => {
        const level = article.querySelector(".level");
        const svg = level?.querySelector("svg")?.cloneNode(true) as SVGElement | undefined;
        // What is left of the outline when nothing has a colour.
        for (const part of svg?.querySelectorAll("*") ?? [])
          for (const name of ["stroke", "class"]) part.removeAttribute(name);
        return { word: level?.textContent?.trim() ?? "", outline: svg?.innerHTML ?? "" };
      }),
    );
    expect(cards.map(({ word }) => word)).toEqual(["Emergency", "Alarm", "Warning", "Caution"]);
    expect(new Set(cards.map(({ outline }) => outline)).size).toBe(4);
  });

  const themes = ["sun", "dusk", "night"] as const;
  const kinds = ["protanopia", "deuteranopia", "tritanopia", "achromatopsia"] as const;
  it.each(themes)("keeps every level readable in %s, however colours are seen", async (theme) => {
    // Nothing moves, so that a picture is of one moment.
    const page = await open({ reducedMotion: "reduce" }, theme);
    const session = await page.context().newCDPSession(page);
    for (const kind of ["none", ...kinds] as const) {
      await see(session, kind);
      // The sunlight theme promises 7:1; who sees colours otherwise is owed WCAG's 4.5:1.
      const least = theme === "sun" && kind === "none" ? 7 : 4.5;
      for (const [index, level] of LEVELS.entries()) {
        const face = page.getByRole("article").nth(index).locator(".what");
        const ratio = await contrastDrawn(page, face);
        expect(ratio, `${level} as seen with ${kind}`).toBeGreaterThanOrEqual(least);
      }
      for (const name of ["NO SOUND", "Nobody is going"]) {
        const ratio = await contrastDrawn(page, page.getByText(name, { exact: true }).first());
        expect(ratio, `${name} as seen with ${kind}`).toBeGreaterThanOrEqual(4.5);
      }
    }
  });

  it("says on the chart, in words, what a boat's outline means", async () => {
    const page = await open();
    // The plates are painted; their words are those of the boats' list, which is read here.
    await page.getByRole("button", { name: "Boats", exact: true }).click();
    const tiles = await page.locator("main li button").allInnerTexts();
    expect(
      tiles.filter((words) => /Possible capsize|Person overboard|No contact|not tracked/.test(words)).length,
    ).toBeGreaterThanOrEqual(4);
  });
});

describe("motion", () => {
  const moving = (page: Page) =>
    page.evaluate(() => document.getAnimations().filter(({ playState }) => playState === "running").length);

  it("calls for the eye where motion is welcome", async () => {
    const page = await open({ reducedMotion: "no-preference" });
    expect(await moving(page)).toBeGreaterThan(0);
  });

  it("stands still for who asked for that, and shows the same", async () => {
    const page = await open({ reducedMotion: "reduce" });
    expect(await moving(page)).toBe(0);
    await page.getByRole("article").first().getByText("Person overboard").waitFor();
  });
});

describe("by keyboard alone", () => {
  /** Presses Tab until the focus is on a button with this name; how often is bounded. */
  async function tabTo(page: Page, name: RegExp): Promise<void> {
    for (let presses = 0; presses < 80; presses += 1) {
      const words = await page.evaluate(() => {
        const at = document.activeElement;
        return at instanceof HTMLButtonElement ? (at.getAttribute("aria-label") ?? at.innerText) : "";
      });
      if (name.test(words.trim())) return;
      await page.keyboard.press("Tab");
    }
    throw new Error(`no way by Tab to ${name}`);
  }

  it("reaches a boat and its marks, and shows where the focus is", async () => {
    const page = await open();
    await tabTo(page, /^Boats$/);
    const outline = await page.evaluate(() => {
      const { outlineStyle, outlineWidth } = getComputedStyle(document.activeElement ?? document.body);
      return { outlineStyle, wide: Number.parseFloat(outlineWidth) };
    });
    expect(outline).toMatchObject({ outlineStyle: "solid" });
    expect(outline.wide).toBeGreaterThanOrEqual(3);
    await page.keyboard.press("Enter");
    await tabTo(page, /^05\b/);
    await page.keyboard.press("Enter");
    await page.getByText("Mark by hand").waitFor();
    await tabTo(page, /^Needs help$/);
    await tabTo(page, /Back$/);
    await page.keyboard.press("Enter");
    await page.getByRole("article").first().waitFor();
  });

  it("opens a dialog, stays inside it, leaves by Escape and is back where it was", async () => {
    const page = await open();
    await tabTo(page, /^Menu$/);
    await page.keyboard.press("Enter");
    await page.getByRole("dialog").waitFor();
    for (let presses = 0; presses < 40; presses += 1) {
      await page.keyboard.press("Tab");
      const outside = await page.evaluate(() => {
        const at = document.activeElement;
        return at !== null && at !== document.body && at.closest("dialog") === null;
      });
      expect(outside).toBe(false);
    }
    await page.keyboard.press("Escape");
    await page.getByRole("dialog").waitFor({ state: "detached" });
    expect(await page.evaluate(() => (document.activeElement as HTMLElement).innerText)).toBe("Menu");
  });
});

describe("rotation", () => {
  it("keeps what was open, and the chart fills its place", async () => {
    const page = await open({ viewport: { width: 1180, height: 820 } });
    await page.getByRole("button", { name: "Boats", exact: true }).click();
    await page.locator("main li button").nth(2).click();
    await page.getByText("Mark by hand").waitFor();
    for (const [width, height] of [
      [820, 1180],
      [1180, 820],
      [390, 844],
      [844, 390],
    ] as const) {
      await page.setViewportSize({ width, height });
      await expect
        .poll(async () => {
          const [chart, canvas] = [
            await page.locator(".chart").boundingBox(),
            await page.locator(".boat-canvas").boundingBox(),
          ];
          return chart !== null && canvas !== null && Math.abs(chart.width - canvas.width) < 2;
        })
        .toBe(true);
      expect(await page.getByText("Mark by hand").count()).toBe(1);
      // Nothing is pushed off the side, and both slides stay in reach.
      expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(width);
      const rail = await page.locator(".rail").boundingBox();
      expect((rail?.y ?? 0) + (rail?.height ?? 0)).toBeLessThanOrEqual(height + 1);
    }
  });
});
