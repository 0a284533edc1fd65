// What the tests of the screen afloat share: a scripted fleet, and tablets that are closed again and
// must not have complained.
import type { Browser } from "playwright-core";
import { afterAll, afterEach, beforeAll, expect } from "vitest";
import { type ScriptedFleet, startScriptedFleet } from "./fleet.ts";
import { type Opening, openTablet, startBrowser, type Tablet } from "./tablet.ts";

/** Tablets on one scripted fleet. */
export interface Afloat {
  /** Opens one, in safety boat S1 unless told otherwise. */
  tablet(opening?: Opening): Promise<Tablet>;
  readonly browser: Browser;
  readonly fleet: ScriptedFleet;
}

/** Begins before the first test of the file and ends after its last. */
export function afloat(): Afloat {
  let fleet: ScriptedFleet;
  let browser: Browser;
  const open: Tablet[] = [];
  beforeAll(async () => {
    [fleet, browser] = await Promise.all([startScriptedFleet(), startBrowser()]);
  });
  afterEach(async () => {
    for (const each of open.splice(0)) {
      expect(each.complaints, "the page complained").toEqual([]);
      await each.close();
    }
  });
  afterAll(async () => {
    await browser.close();
    await fleet.kill();
  });
  return {
    async tablet(opening = {}) {
      const { base, cookie } = fleet;
      const made = await openTablet(browser, base, { choices: { ownBoat: "S1" }, cookie, ...opening });
      open.push(made);
      return made;
    },
    get browser() {
      return browser;
    },
    get fleet() {
      return fleet;
    },
  };
}

/** The cards of a boat in the need list, by what is painted on her. */
export const cardsOf = ({ page }: Tablet, id: string) =>
  page.getByRole("article").filter({ has: page.locator(".id", { hasText: new RegExp(`^${id}$`) }) });

/** The first of them. */
export const cardOf = (one: Tablet, id: string) => cardsOf(one, id).first();

/** Ends what a test began. */
export async function allClear(one: Tablet, id: string): Promise<void> {
  while ((await cardsOf(one, id).count()) > 0) {
    const before = await cardsOf(one, id).count();
    await cardOf(one, id).getByRole("button", { name: "All clear", exact: true }).click();
    await one.page.getByRole("button", { name: "Drill", exact: true }).click();
    await expect.poll(() => cardsOf(one, id).count(), { timeout: 20_000 }).toBeLessThan(before);
  }
}
