import type { Browser, Page } from "playwright-core";
import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import { type Centre, type Phone, site, startCentre } from "./centre.ts";
import { axe, startBrowser } from "./tablet.ts";

const FLEET = `
[[boat]]
id = "S1"
role = "safety"
crew = 2

${["07", "08", "09", "10", "11"]
  .map((id) => `[[boat]]\nid = "${id}"\nrole = "dinghy"\ncrew = 2\n`)
  .join("\n")}`;

/** Reports come once a second. */
const EVERY_MS = 1_000;

let browser: Browser;
let centre: Centre;
let tablet: Page;
const phones: Phone[] = [];

beforeAll(async () => {
  browser = await startBrowser();
  centre = await startCentre(browser, FLEET, site({ northM: -900, eastM: 0, halfM: 40 }));
  tablet = await centre.open();
});

afterEach(async () => {
  for (const each of phones.splice(0)) {
    expect(each.complaints, "the phone's page complained").toEqual([]);
    await each.context.close();
  }
});

afterAll(async () => {
  await browser.close();
  await centre.close();
});

/** A phone whose page was started and which is heard. */
async function aboard(boat: string, northM: number): Promise<Phone> {
  const phone = await centre.phone(boat);
  phones.push(phone);
  await phone.isAt(northM, 0);
  await phone.heels(0);
  await phone.page.getByRole("button", { name: "Start" }).click();
  await phone.page.getByText("You are being heard").waitFor();
  await phone.heels(0);
  return phone;
}

/** Sails east at `mps` for so many reports, one a second; gives where she is then. */
async function sail(phone: Phone, northM: number, fromM: number, mps: number, reports: number) {
  let eastM = fromM;
  for (let n = 0; n < reports; n += 1) {
    eastM += (mps * EVERY_MS) / 1_000;
    await phone.isAt(northM, eastM);
    await phone.page.waitForTimeout(EVERY_MS);
  }
  return eastM;
}

const card = (id: string) =>
  tablet.getByRole("article").filter({ has: tablet.locator(".id", { hasText: new RegExp(`^${id}$`) }) });

interface BoatSeen {
  readonly at?: [number, number];
  readonly kn?: number;
  readonly heel?: number;
  readonly battery?: number;
}

/** What the watch has of a boat. */
async function seen(id: string): Promise<BoatSeen> {
  const snapshot = JSON.parse(await centre.ask("GET", "/api/snapshot")) as {
    setup: { boats: { ix: number; id: string }[] };
    tick: { boats: [number, BoatSeen][] };
  };
  const ix = snapshot.setup.boats.find((boat) => boat.id === id)?.ix;
  return snapshot.tick.boats.find(([boat]) => boat === ix)?.[1] ?? {};
}

async function launched(id: string): Promise<void> {
  await tablet.getByRole("button", { name: "Boats", exact: true }).click();
  await tablet
    .locator("main li button")
    .filter({ has: tablet.locator(".id", { hasText: new RegExp(`^\\s*${id}\\s*$`) }) })
    .click();
  await tablet.getByRole("button", { name: "Afloat", exact: true }).click();
  await tablet.getByRole("button", { name: /Back/ }).first().click();
}

describe("the phone on board", () => {
  it("feeds a boat: the tablet shows where she is, how fast, and how she lies", async () => {
    const phone = await aboard("07", 0);
    await phone.page.getByRole("button", { name: "Boat is upright now" }).click();
    await phone.heels(18);
    const eastM = await sail(phone, 0, 0, 1.5, 10);
    const found = await seen("07");
    expect(found.at?.[0]).toBeCloseTo(
      3.205e7 + (eastM / 111_195 / Math.cos((54.103 * Math.PI) / 180)) * 1e7,
      -3,
    );
    expect(found.kn).toBeGreaterThan(1.5);
    expect(found.kn).toBeLessThan(4.5);
    expect(found.heel).toBeGreaterThan(14);
    expect(found.heel).toBeLessThan(22);
    expect(await axe(phone.page)).toEqual([]);
  });

  it("raises a capsize at the tablet when she lies on her side, from heel that lasts", async () => {
    const phone = await aboard("08", 100);
    await launched("08");
    await phone.page.getByRole("button", { name: "Boat is upright now" }).click();
    await phone.heels(12);
    const eastM = await sail(phone, 100, -100, 1.8, 25);
    expect(await card("08").count()).toBe(0);
    await phone.heels(95);
    const over = performance.now();
    const drifting = (async () => {
      for (let n = 0; performance.now() - over < 45_000 && (await card("08").count()) === 0; n += 1) {
        await phone.heels(95 + (n % 3));
        await sail(phone, 100, eastM + 0.2 * n, 0.2, 1);
      }
    })();
    await card("08").getByText("Possible capsize").waitFor({ timeout: 45_000 });
    await drifting;
    expect(await card("08").innerText()).toMatch(/heel/i);
    expect(performance.now() - over).toBeLessThan(45_000);
  });

  it("does not take a knock or a moment on her ear for a capsize", async () => {
    const phone = await aboard("09", 200);
    await launched("09");
    await phone.page.getByRole("button", { name: "Boat is upright now" }).click();
    await phone.heels(12);
    let eastM = await sail(phone, 200, -100, 1.8, 20);
    await phone.heels(85);
    eastM = await sail(phone, 200, eastM, 1.8, 1);
    await phone.heels(15);
    await sail(phone, 200, eastM, 1.8, 12);
    expect(await card("09").count()).toBe(0);
  });

  it("calls for help by press and hold, not by a touch, and tells the crew what became of it", async () => {
    const phone = await aboard("10", 300);
    const hold = phone.page.getByRole("button", { name: "We need help" });
    await hold.click();
    await phone.page.waitForTimeout(1_500);
    expect(await card("10").count()).toBe(0);
    await hold.hover();
    await phone.page.mouse.down();
    await phone.page.getByText("Keep holding").waitFor();
    await card("10").getByText("Asks for help").waitFor();
    await phone.page.mouse.up();
    await phone.page.getByText("Your call has arrived").waitFor();
    expect(await axe(phone.page)).toEqual([]);
    await card("10").getByRole("button", { name: "Seen", exact: true }).click();
    await phone.page.getByText("They have seen your call").waitFor();
    await card("10").getByRole("button", { name: "I'm going" }).click();
    await phone.page.getByText("A safety boat is coming").waitFor();
    // Fine again: asked twice, since a wet sleeve may press once.
    await phone.page.getByRole("button", { name: "We are fine" }).click();
    await phone.page.getByRole("button", { name: "Press again to take your call back" }).click();
    await phone.page.getByRole("button", { name: "We need help" }).waitFor({ timeout: 20_000 });
  });

  it("keeps its fixes through a dead spot and a restart of the page, and sends each of them once", async () => {
    const phone = await aboard("11", 400);
    let eastM = await sail(phone, 400, 0, 1.5, 4);
    await phone.context.setOffline(true);
    eastM = await sail(phone, 400, eastM, 1.5, 15);
    await phone.page.getByText(/^✕ Not heard for/).waitFor({ timeout: 20_000 });
    await phone.page.getByText(/positions wait to be sent/).waitFor();
    expect(await axe(phone.page)).toEqual([]);
    const kept = await keptBy(phone.page);
    expect(kept.length).toBeGreaterThan(10);
    await phone.context.setOffline(false);
    await phone.reopen();
    await phone.page.getByRole("button", { name: "Start" }).click();
    await phone.page.getByText("You are being heard").waitFor();
    await sail(phone, 400, eastM, 1.5, 4);
    await expect
      .poll(() => keptBy(phone.page).then((left) => left.length), { timeout: 20_000 })
      .toBeLessThan(3);
    const rows = (await centre.ask("GET", "/api/export/today/tracks.csv"))
      .split("\r\n")
      .map((row) => row.split(","))
      .filter(([boat]) => boat === "11");
    const times = rows.map(([, time = ""]) => time);
    expect(new Set(times).size, "no position twice").toBe(times.length);
    const late = rows.filter((row) => row.at(-1) !== "");
    for (const t of kept) {
      const at = rows.find(([, time = ""]) => Math.abs(Date.parse(time) - t) < 400);
      expect(at, `the position of ${new Date(t).toISOString()} is in the day's file`).toBeDefined();
    }
    expect(late.length, "those that came late are marked").toBeGreaterThan(3);
    // Told in whole seconds.
    for (const row of late) expect(Number(row.at(-1))).toBeGreaterThanOrEqual(10);
  });

  it("shows, sounds and shakes a call to come in, and the tablet learns who has seen it", async () => {
    const phone = await aboard("07", 0);
    await phone.page.locator('main[data-sound="on"]').waitFor();
    await phone.page.getByText("A signal sounds and shakes this phone", { exact: false }).waitFor();
    await tablet.getByRole("button", { name: /^Call everyone in/ }).click();
    await tablet.getByRole("button", { name: "Call everyone in Yes, now" }).click();
    await phone.page.getByRole("heading", { name: "Everyone in" }).waitFor();
    const bursts = async () => Number(await phone.page.locator("main").getAttribute("data-bursts"));
    await expect.poll(bursts, { timeout: 15_000 }).toBeGreaterThan(1);
    const shakes = await phone.page.evaluate(() => (globalThis as unknown as { shakes: unknown[] }).shakes);
    expect(shakes.length).toBeGreaterThan(1);
    await tablet.getByText("seen on 0 of 1 phones", { exact: false }).waitFor();
    expect(await axe(phone.page)).toEqual([]);
    await phone.page.getByRole("button", { name: "Seen", exact: true }).click();
    await tablet.getByText("seen on 1 of 1 phones", { exact: false }).waitFor();
    const after = await bursts();
    await phone.page.waitForTimeout(5_000);
    expect(await bursts(), "what was seen sounds no more").toBe(after);
    await tablet.getByRole("button", { name: "Take down" }).click();
    await phone.page.getByRole("heading", { name: "Everyone in" }).waitFor({ state: "detached" });
  });

  it("is drawn for the light that was chosen, also when it is opened again", async () => {
    const phone = await aboard("11", 400);
    const ground = () =>
      phone.page.evaluate(() => getComputedStyle(document.documentElement).backgroundColor);
    expect(await ground()).toBe("rgb(255, 255, 255)");
    await phone.page.getByText("Night", { exact: true }).click();
    expect(await ground()).toBe("rgb(0, 0, 0)");
    expect(await axe(phone.page)).toEqual([]);
    await phone.page.reload();
    await phone.page.getByRole("button", { name: "Start" }).waitFor();
    expect(await ground()).toBe("rgb(0, 0, 0)");
  });
});

/** When the fixes were taken that the phone's own database still holds. */
function keptBy(page: Page): Promise<number[]> {
  return page.evaluate(async () => {
    const [found] = await indexedDB.databases();
    return new Promise<number[]>((done, fail) => {
      const opening = indexedDB.open(found?.name ?? "");
      opening.onerror = () => fail(opening.error);
      opening.onsuccess = () => {
        const asking = opening.result.transaction("fixes").objectStore("fixes").getAll();
        asking.onerror = () => fail(asking.error);
        asking.onsuccess = () => {
          opening.result.close();
          done(
            (asking.result as { t: number; lat?: number }[])
              .filter((fix) => fix.lat !== undefined)
              .map((fix) => fix.t),
          );
        };
      };
    });
  });
}
