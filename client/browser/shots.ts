// Screenshots of every screen, size and theme, for looking at; they are kept out of the repository.
// `npm run shots -- FOLDER` writes them to FOLDER, else to `shots` below the system's temporary one.
import { mkdirSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Page } from "playwright-core";
import type { Choices } from "../src/settings.svelte.ts";
import { startDemo } from "./program.ts";
import { markByHand, openTablet, SIZES, type Size, startBrowser } from "./tablet.ts";

/** How to get to a screen from its page. */
interface Shot {
  readonly name: string;
  readonly path?: string;
  readonly steps?: (page: Page) => Promise<void>;
}

const press = (name: string) => async (page: Page) => {
  await page.getByRole("button", { name, exact: true }).first().click();
  await page.waitForTimeout(500);
};

const boat = async (page: Page) => {
  await press("Boats")(page);
  await page.locator("main li button").nth(4).click();
  await page.waitForTimeout(900);
};

const wind = async (page: Page) => {
  await page.locator("button.wind").click();
  await page.waitForTimeout(900);
};

const rescue = async (page: Page) => {
  await page
    .getByRole("button", { name: /I'm going|Open/ })
    .first()
    .click();
  await page.waitForTimeout(700);
};

const SHOTS: readonly Shot[] = [
  { name: "watch" },
  { name: "boats", steps: press("Boats") },
  { name: "boat", steps: boat },
  { name: "wind", steps: wind },
  { name: "rescue", steps: rescue },
  { name: "menu", steps: press("Menu") },
  { name: "cautions", steps: press("Limits") },
  { name: "ashore", path: "/ashore" },
  { name: "feeds", path: "/feeds" },
  ...["Session", "People", "Launch", "After sailing", "Site and fleet", "Who may join"].map((tab) => ({
    name: `day-${tab.toLowerCase().replaceAll(" ", "-")}`,
    path: "/day",
    steps: press(tab),
  })),
];

async function main(): Promise<void> {
  const folder = process.argv[2] ?? join(tmpdir(), "shots");
  mkdirSync(folder, { recursive: true });
  const [program, browser] = await Promise.all([startDemo(1), startBrowser()]);
  const first = await openTablet(browser, program.base, { choices: { ownBoat: "S1" } });
  await markByHand(first.page, "05", "Capsized");
  await first.page.waitForTimeout(12_000);
  for (const theme of ["sun", "dusk", "night"] as const) {
    for (const size of Object.keys(SIZES) as Size[]) {
      for (const shot of SHOTS) {
        const choices: Partial<Choices> = { ownBoat: "S1", theme };
        const path = shot.path ?? "/";
        const tablet = await openTablet(browser, program.base, { size, path, choices });
        await tablet.page.waitForTimeout(700);
        await shot.steps?.(tablet.page);
        await tablet.page.screenshot({ path: join(folder, `${shot.name}-${theme}-${size}.png`) });
        await tablet.close();
      }
    }
  }
  await first.close();
  await browser.close();
  await program.kill();
  process.stdout.write(`Screenshots are in ${folder}\n`);
}

await main();
