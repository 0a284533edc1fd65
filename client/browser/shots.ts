// Screenshots and prints of every screen, size and theme, for looking at; they are kept out of the
// repository. `npm run shots -- [FOLDER] [THEMES] [NAME]`: into FOLDER, else `shots` below the system's
// temporary one; THEMES as `sun,night`; with NAME only the shots whose name has it.
import { mkdirSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Browser, Page } from "playwright-core";
import type { Choices } from "../src/settings.svelte.ts";
import type { FromTablet } from "../src/wire/FromTablet.ts";
import type { Snapshot } from "../src/wire/Snapshot.ts";
import { CREW_LIST, join as joinAs, type ScriptedFleet, startScriptedFleet } from "./fleet.ts";
import { startDemo, startFresh } from "./program.ts";
import { PAPERS, SCREENS, type Shot, sendAll } from "./screens.ts";
import { type Opening, openTablet, SIZES, type Size, startBrowser } from "./tablet.ts";

const [, , folder = join(tmpdir(), "shots"), themes = "sun,night", only = ""] = process.argv;
const THEMES = themes.split(",") as Choices["theme"][];

/** Where shots are taken. */
interface World {
  readonly base: string;
  readonly cookie?: ScriptedFleet["cookie"];
  readonly session?: string;
}

/** Takes `shot` at every size and in every theme; what does not fit is shown by a second picture of the end. */
async function take(browser: Browser, world: World, shot: Shot): Promise<void> {
  if (!shot.name.includes(only)) return;
  for (const theme of THEMES) {
    for (const size of Object.keys(SIZES) as Size[]) {
      const opening: Opening = {
        size,
        path: shot.path ?? "/",
        choices: { ownBoat: "S1", theme, ...shot.choices },
        ...(world.cookie === undefined || shot.stranger === true ? {} : { cookie: world.cookie }),
        ...(world.session === undefined ? {} : { session: world.session }),
        ...(shot.cautions === undefined ? {} : { cautions: shot.cautions }),
        ...(shot.first === undefined ? {} : { first: shot.first }),
      };
      const tablet = await openTablet(browser, world.base, opening);
      try {
        await tablet.page.waitForTimeout(900);
        await shot.steps?.(tablet);
        await tablet.page.screenshot({ path: join(folder, `${shot.name}-${theme}-${size}.png`) });
        if (await scrollToEnd(tablet.page))
          await tablet.page.screenshot({ path: join(folder, `${shot.name}-end-${theme}-${size}.png`) });
      } catch (error) {
        process.stdout.write(`${shot.name} ${theme} ${size}: ${error}\n`);
      } finally {
        for (const complaint of tablet.complaints) process.stdout.write(`${shot.name}: ${complaint}\n`);
        await tablet.close();
      }
    }
  }
}

/** Scrolls everything that scrolls; whether anything moved. */
async function scrollToEnd(page: Page): Promise<boolean> {
  const moved = await page.evaluate(() => {
    let any = false;
    for (const each of document.querySelectorAll("*")) {
      if (each.scrollHeight <= each.clientHeight + 8) continue;
      const before = each.scrollTop;
      each.scrollTop = each.scrollHeight;
      any ||= each.scrollTop > before + 8;
    }
    return any;
  });
  await page.waitForTimeout(200);
  return moved;
}

/** Each paper as the browser prints it. */
async function print(browser: Browser, world: World): Promise<void> {
  for (const shot of PAPERS) {
    if (!shot.name.includes(only)) continue;
    const { base, ...key } = world;
    const tablet = await openTablet(browser, base, { path: shot.path ?? "/", ...key });
    await tablet.page.waitForTimeout(900);
    await shot.steps?.(tablet);
    writeFileSync(join(folder, `${shot.name}.pdf`), await tablet.page.pdf({ format: "A4" }));
    await tablet.close();
  }
}

/** A day with people in their boats, a defect, a boat ashore and three in trouble. */
async function busyDay(browser: Browser, world: World & { cookie: ScriptedFleet["cookie"] }): Promise<World> {
  const tablet = await openTablet(browser, world.base, { cookie: world.cookie });
  const at = (hours: number) => Date.now() + hours * 3_600_000;
  const acts: FromTablet["action"][] = [
    {
      kind: "day",
      change: {
        what: "session",
        title: "Tuesday beginners",
        staff: ["Mara", "Robin"],
        back_by_ms: at(1.5),
        water_c: 13,
        wind_limit_kn: 16,
        tides: [{ at_ms: at(2), height_m: 3.2, towards_deg: 80, speed_kn: 0.6 }],
      },
    },
    { kind: "day", change: { what: "add_people", text: CREW_LIST } },
    {
      kind: "day",
      change: {
        what: "items",
        check_items: ["Buoyancy tanks shut", "Bungs in", "Rigging, pins and rings", "Paddle and painter"],
        after_items: ["Washed with fresh water", "Drained", "Sails rinsed and hung", "Cover on"],
      },
    },
    { kind: "day", change: { what: "ready", boat: 0, item: "Bungs in", done: true } },
    { kind: "day", change: { what: "after", boat: 1, item: "Drained", done: true } },
    { kind: "day", change: { what: "defect", boat: 8, text: "rudder pintle bent", safety: true } },
    { kind: "day", change: { what: "defect", boat: 3, text: "tiller extension loose", safety: false } },
    {
      kind: "day",
      change: { what: "rules", rules: { dinghies_per_safety_boat: 6, reach_within_s: 240, keep_days: 30 } },
    },
    { kind: "mark", boat: 10, mark: "ashore" },
    { kind: "mark", boat: 6, mark: "capsized" },
    { kind: "mark", boat: 2, mark: "needs_help" },
    { kind: "note", boat: 4, text: "crew practised reefing, did well" },
  ];
  await sendAll(tablet, acts);
  await tablet.page.waitForTimeout(1500);
  const { id, session } = await tablet.page.evaluate(async () => {
    const { alerts, day } = (await (await fetch("/api/snapshot")).json()) as Snapshot;
    return { id: alerts.find(({ boat }) => boat === 6)?.id, session: String(day.session?.id) };
  });
  if (id === undefined) throw new Error("boat 07 has no alert");
  await sendAll(tablet, [
    { kind: "acknowledge", alert: id },
    { kind: "attend", alert: id, boat: 12 },
    { kind: "heads", alert: id, counted: 1 },
    { kind: "note", boat: 6, text: "Boat righted" },
  ]);
  await tablet.page.waitForTimeout(800);
  await tablet.close();
  return { base: world.base, cookie: world.cookie, session };
}

async function main(): Promise<void> {
  mkdirSync(folder, { recursive: true });
  const browser = await startBrowser();
  const wanted = (world: Shot["world"]) =>
    SCREENS.filter((shot) => shot.world === world && shot.name.includes(only));

  if (wanted("fresh").length > 0) {
    const fresh = await startFresh();
    for (const shot of wanted("fresh").filter(({ stranger }) => stranger === true))
      await take(browser, fresh, shot);
    const joined = { base: fresh.base, cookie: await joinAs(fresh.base, fresh.code) };
    for (const shot of wanted("fresh").filter(({ stranger }) => stranger !== true))
      await take(browser, joined, shot);
    await fresh.kill();
  }
  if (wanted("quiet").length + wanted("busy").length > 0 || PAPERS.some(({ name }) => name.includes(only))) {
    const fleet = await startScriptedFleet();
    for (const shot of wanted("quiet")) await take(browser, fleet, shot);
    const busy = await busyDay(browser, fleet);
    for (const shot of wanted("busy")) await take(browser, busy, shot);
    await print(browser, busy);
    await fleet.kill();
  }
  if (wanted("demo").length > 0) {
    const demo = await startDemo(1);
    await new Promise((done) => setTimeout(done, 30_000));
    for (const shot of wanted("demo")) await take(browser, demo, shot);
    await demo.kill();
  }
  await browser.close();
  process.stdout.write(`Screenshots are in ${folder}\n`);
}

await main();
