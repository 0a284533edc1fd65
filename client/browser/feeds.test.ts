// A tracker that no boat claims, given to a boat on the tablet: real datagrams, the real program.
import { createSocket } from "node:dgram";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { Snapshot } from "../src/wire/Snapshot.ts";
import { join } from "./fleet.ts";
import { type Fresh, freePort, startServer } from "./program.ts";
import { axe, openTablet, startBrowser, type Tablet } from "./tablet.ts";

let program: Fresh;
let browser: Browser;
let tablet: Tablet;
let page: Page;
let port: number;

const FLEET = '[[boat]]\nid = "07"\ncrew = 2\n[[boat]]\nid = "08"\nsource = "08"\ncrew = 2\n';

beforeAll(async () => {
  port = await freePort();
  const feed = `[[feed]]\nname = "trackers"\nkind = "udp"\nlisten = "127.0.0.1:${port}"\n`;
  [program, browser] = await Promise.all([
    startServer({
      "fleet.toml": () => FLEET,
      "dunlin.toml": (pages) =>
        `centre = "Test Water"\ndata = "data"\nfleet = "fleet.toml"\nlisten = "127.0.0.1:${pages}"\n${feed}`,
    }),
    startBrowser(),
  ]);
  const cookie = await join(program.base, program.code);
  tablet = await openTablet(browser, program.base, { cookie, path: "/feeds" });
  page = tablet.page;
});

afterAll(async () => {
  await browser.close();
  await program.kill();
});

/** One fix of a tracker that names itself, taken now. */
async function speak(source: string, minutesNorth: number): Promise<void> {
  const now = new Date();
  const two = (n: number) => String(n).padStart(2, "0");
  const time = [now.getUTCHours(), now.getUTCMinutes(), now.getUTCSeconds()].map(two).join("");
  const date = `${two(now.getUTCDate())}${two(now.getUTCMonth() + 1)}${two(now.getUTCFullYear() % 100)}`;
  const sum = (text: string) =>
    [...text]
      .reduce((sum, letter) => sum ^ letter.charCodeAt(0), 0)
      .toString(16)
      .padStart(2, "0");
  const body = `GPRMC,${time}.00,A,54${minutesNorth.toFixed(4).padStart(7, "0")},N,00312.0000,E,3.0,000.0,${date},,,A`;
  const tag = `s:${source}`;
  const socket = createSocket("udp4");
  await new Promise((done) =>
    socket.send(`\\${tag}*${sum(tag)}\\$${body}*${sum(body)}\r\n`, port, "127.0.0.1", done),
  );
  socket.close();
}

const boat07 = () =>
  page.evaluate(async () => {
    const { tick } = (await (await fetch("/api/snapshot")).json()) as Snapshot;
    return tick.boats.find(([ix]) => ix === 0)?.[1].at ?? null;
  });

describe("a feed that no boat claims", () => {
  it("is listed as unknown, and her boat is seen nowhere", async () => {
    await speak("tracker-9", 6.0);
    await page.getByText("tracker-9").waitFor();
    expect(await boat07()).toBeNull();
    expect(await axe(page)).toEqual([]);
  });

  it("is given to a boat, and moves her from then on", async () => {
    await page.getByLabel("Assign to").selectOption({ label: "07" });
    await page.getByLabel("Assign to").waitFor({ state: "detached" });
    for (let n = 1; n <= 5; n += 1) {
      await speak("tracker-9", 6.0 + n * 0.001);
      await new Promise((done) => setTimeout(done, 1_050));
    }
    await expect.poll(boat07).not.toBeNull();
  });

  it("is hers until it is taken back, and then nobody's again", async () => {
    const given = page.locator("section", { has: page.getByRole("heading", { name: "Given by hand" }) });
    await given.getByText("tracker-9 speaks for 07").waitFor();
    expect(await axe(page)).toEqual([]);
    await given.getByRole("button", { name: "Take back" }).click();
    await given.waitFor({ state: "detached" });
    await speak("tracker-9", 6.01);
    await page.getByLabel("Assign to").waitFor();
    expect(tablet.complaints).toEqual([]);
  });
});
