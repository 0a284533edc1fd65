// The seven things that happen in the demonstration's first ten minutes (`demo-scenario/scenario.toml`, a
// fixed seed), watched on two tablets while its time runs fast. Times below are the script's, s.
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { AlertState } from "../src/wire/AlertState.ts";
import type { Snapshot } from "../src/wire/Snapshot.ts";
import { type Program, startDemo } from "./program.ts";
import { openTablet, startBrowser, type Tablet } from "./tablet.ts";

/** How fast the demonstration runs: ten minutes of it in under two of ours. */
const SPEED = 6;
const LOOK_EVERY_MS = 200;
const LEVELS = ["caution", "warning", "alarm", "emergency"];

/** A card as it stood on a tablet. */
interface Card {
  readonly id: string;
  readonly level: string;
  readonly what: string;
}

let browser: Browser;
let program: Program;
let tablets: [Tablet, Tablet];
let looking: NodeJS.Timeout;
let nowS = 0;
let startMs = 0;
/** Every alert that there was, as it was last seen, with the highest level it had. */
const alerts = new Map<number, { boat: string; about: string; highest: number; alert: AlertState }>();

async function look(): Promise<void> {
  const snapshot = (await (await fetch(`${program.base}/api/snapshot`)).json()) as Snapshot;
  startMs = snapshot.watching_since_ms;
  for (const alert of snapshot.alerts) {
    const boat = snapshot.setup.boats.find(({ ix }) => ix === alert.boat)?.id ?? "";
    const highest = Math.max(alerts.get(alert.id)?.highest ?? -1, LEVELS.indexOf(alert.level));
    alerts.set(alert.id, { boat, about: alert.about, highest, alert });
  }
  nowS = (snapshot.now_ms - startMs) / 1000;
}

beforeAll(async () => {
  [program, browser] = await Promise.all([startDemo(SPEED), startBrowser()]);
  tablets = [
    await openTablet(browser, program.base, { choices: { ownBoat: "S1" } }),
    await openTablet(browser, program.base, { choices: { ownBoat: "S2" }, size: "upright" }),
  ];
  for (const { page } of tablets) {
    await page.evaluate((every) => {
      const seen: Record<string, { id: string; level: string; what: string }> = {};
      Object.assign(globalThis, { seen });
      setInterval(() => {
        for (const card of document.querySelectorAll("article.card")) {
          const level = [...card.classList].find((name) => name.startsWith("lv-"))?.slice(3) ?? "";
          const id = card.querySelector(".id")?.textContent?.trim() ?? "";
          const what = card.querySelector(".what")?.textContent?.trim() ?? "";
          seen[`${id} ${level} ${what}`] = { id, level, what };
        }
      }, every);
    }, LOOK_EVERY_MS);
  }
  looking = setInterval(() => void look().catch(() => undefined), LOOK_EVERY_MS);
});

afterAll(async () => {
  clearInterval(looking);
  await browser.close();
  await program.kill();
});

/** Waits until the script's time `s`. */
async function until(s: number): Promise<void> {
  await expect.poll(() => nowS, { timeout: 180_000, interval: LOOK_EVERY_MS }).toBeGreaterThan(s);
}

/** Every card of a boat that both tablets have shown so far. */
async function shown(id: string): Promise<Card[]> {
  const [one, two] = await Promise.all(
    tablets.map(({ page }) =>
      page.evaluate(() => Object.values((globalThis as unknown as { seen: Record<string, Card> }).seen)),
    ),
  );
  const same = (a: Card, b: Card) => a.level === b.level && a.what === b.what && a.id === b.id;
  return (one ?? []).filter((card) => card.id === id && (two ?? []).some((other) => same(card, other)));
}

/** Alerts about a boat that began between two times of the script. */
const between = (id: string, fromS: number, toS: number) =>
  [...alerts.values()].filter(({ boat, alert }) => {
    const atS = (alert.raised_ms - startMs) / 1000;
    return boat === id && atS >= fromS && atS <= toS;
  });

describe("the demonstration's seven happenings, on two tablets", () => {
  it("04 goes over at 75 s and is righted after 24 s: her phone feels it, and a capsize is shown", async () => {
    await until(75 + 24 + 120);
    const found = between("04", 70, 75 + 24 + 30).filter(({ about }) => about === "capsize");
    expect(found.length).toBeGreaterThan(0);
    expect((await shown("04")).map(({ what }) => what)).toContain("Possible capsize");
  }, 200_000);

  it("04 sails on: no capsize of hers stands for good", async () => {
    await until(75 + 24 + 120);
    const stands = ({ boat, about, alert }: { boat: string; about: string; alert: AlertState }) =>
      boat === "04" && about === "capsize" && alert.cleared === null;
    await expect.poll(() => [...alerts.values()].filter(stands), { timeout: 60_000 }).toEqual([]);
  }, 200_000);

  it("10 sails into forbidden water at 250 s: seen on one tablet, and the other knows", async () => {
    const [one, two] = tablets.map(({ page }) =>
      page
        .getByRole("article")
        .filter({ has: page.locator(".id", { hasText: /^10$/ }) })
        .filter({ hasText: "In a no-go zone" }),
    );
    await Promise.all([one?.waitFor({ timeout: 120_000 }), two?.waitFor({ timeout: 120_000 })]);
    await one?.getByRole("button", { name: "Seen", exact: true }).click();
    await two?.getByText("seen by", { exact: false }).waitFor();
    const by = () =>
      between("10", 250, 600).find(({ about }) => about === "no-go")?.alert.acknowledged?.by ?? null;
    await expect.poll(by).not.toBeNull();
  }, 200_000);

  it("12 drifts out from 20 s: told before or as she leaves the area", async () => {
    await until(330);
    const abouts = between("12", 20, 330).map(({ about }) => about);
    expect(abouts.some((about) => about === "drifting-out" || about === "outside-area")).toBe(true);
    const words = (await shown("12")).map(({ what }) => what);
    expect(words.some((what) => /Drifting out of the area|Outside the area/.test(what))).toBe(true);
  }, 200_000);

  it("06 lies in irons from 150 s to 205 s: no alarm, and no capsize", async () => {
    await until(260);
    const raised = between("06", 150, 260);
    expect(raised.filter(({ highest }) => highest >= LEVELS.indexOf("alarm"))).toEqual([]);
    expect(raised.filter(({ about, highest }) => about === "capsize" && highest > 0)).toEqual([]);
  }, 200_000);

  it("02 falls silent at 330 s: no contact", async () => {
    await until(450);
    const found = between("02", 330, 450).filter(({ about }) => about === "lost-contact");
    expect(found.length).toBe(1);
    expect((await shown("02")).map(({ what }) => what)).toContain("No contact");
  }, 200_000);

  it("07 goes over at 190 s, inverted, for 330 s: a capsize at warning or above", async () => {
    await until(190 + 330);
    const found = between("07", 185, 520).filter(({ about }) => about === "capsize");
    expect(found.map(({ highest }) => LEVELS[highest]).filter((level) => level !== "caution")).not.toEqual(
      [],
    );
    const cards = (await shown("07")).filter(({ what }) => what === "Possible capsize");
    expect(cards.some(({ level }) => level !== "caution")).toBe(true);
  }, 200_000);

  it("08 has a person overboard at 420 s and says so with the help button: an emergency", async () => {
    await until(470);
    const found = between("08", 418, 470).filter(({ about }) => /needs-help|person-overboard/.test(about));
    expect(found.length).toBe(1);
    expect(LEVELS[found[0]?.highest ?? 0]).toMatch(/alarm|emergency/);
    expect((await shown("08")).map(({ what }) => what)).toContain("Asks for help");
  }, 200_000);

  it("complained of nothing in either page", () => {
    for (const { complaints } of tablets) expect(complaints).toEqual([]);
  });
});
