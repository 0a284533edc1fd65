// The client's figures, measured in Chromium: `npm run measure`. A made-up server inside the browser
// sends a hundred boats at 5 Hz, so that only the pages are measured.
import { readdirSync, statSync } from "node:fs";
import { join } from "node:path";
import type { Browser, CDPSession, Page } from "playwright-core";
import { fleetOf } from "../dev/hundred.ts";
import { type FakeHub, startFakeHub } from "./fakehub.ts";
import { paintedDelays } from "./painted.ts";
import { startDemo } from "./program.ts";
import { SIZES, startBrowser } from "./tablet.ts";

const BOATS = 100;
const TICK_MS = 200;
const THROTTLE = 4;
const BUSY_S = 20;
const ALERTS = 120;

/** Sum of the packed sizes of what a first visit fetches, and of everything. */
function sizes(): { name: string; bytes: number }[] {
  const assets = join(import.meta.dirname, "../dist/assets");
  return readdirSync(assets)
    .filter((name) => name.endsWith(".br"))
    .map((name) => ({ name, bytes: statSync(join(assets, name)).size }));
}

/** The sum of the page's tasks so far, in the main thread's own seconds. */
async function ownSeconds(session: CDPSession): Promise<number> {
  const { metrics } = await session.send("Performance.getMetrics");
  return metrics.find(({ name }) => name === "TaskDuration")?.value ?? 0;
}

interface TraceEvent {
  readonly name: string;
  readonly pid: number;
  readonly tid: number;
  readonly dur?: number;
  readonly tdur?: number;
}

/** Share of the time that the main thread is busy, and its longest task, both in its own time. */
async function busyShare(
  browser: Browser,
  page: Page,
  session: CDPSession,
): Promise<{ busy: number; longestMs: number }> {
  await browser.startTracing(page, { categories: ["toplevel"] });
  const [own, began] = [await ownSeconds(session), performance.now()];
  await page.waitForTimeout(BUSY_S * 1000);
  const busy = ((await ownSeconds(session)) - own) / ((performance.now() - began) / 1000);
  const { traceEvents } = JSON.parse((await browser.stopTracing()).toString()) as {
    traceEvents: TraceEvent[];
  };
  // The page's own thread is the one that works most.
  const threads = new Map<string, number[]>();
  for (const { name, pid, tid, tdur } of traceEvents) {
    if (!name.endsWith("RunTask") || tdur === undefined) continue;
    const key = `${pid}/${tid}`;
    threads.set(key, [...(threads.get(key) ?? []), tdur / 1000]);
  }
  const sum = (list: readonly number[]) => list.reduce((total, each) => total + each, 0);
  const [busiest = []] = [...threads.values()].sort((a, b) => sum(b) - sum(a));
  return { busy, longestMs: Math.max(0, ...busiest) };
}

/** A made-up server that sends the fleet; `rush` sends minutes of it as fast as they are taken. */
async function fakeServer(): Promise<{ hub: FakeHub; rush: (seconds: number) => void; stop: () => void }> {
  const fleet = fleetOf(BOATS);
  let second = 0;
  let timer: NodeJS.Timeout | undefined;
  const hub = await startFakeHub((joined) => {
    joined.say({ kind: "snapshot", ...fleet.snapshot(second) });
    clearInterval(timer);
    timer = setInterval(() => {
      second += TICK_MS / 1000;
      joined.say({ kind: "tick", ...fleet.tick(second) });
    }, TICK_MS);
  });
  const rush = (seconds: number) => {
    for (let s = 0; s < seconds; s += 1) {
      second += 1;
      hub.say({ kind: "tick", ...fleet.tick(second) });
    }
  };
  return {
    hub,
    rush,
    stop: () => {
      clearInterval(timer);
      hub.close();
    },
  };
}

async function main(): Promise<void> {
  const out: string[] = [];
  const all = sizes();
  const sum = (pick: (name: string) => boolean) =>
    all.filter(({ name }) => pick(name)).reduce((total, { bytes }) => total + bytes, 0);
  out.push(`download, brotli: everything ${(sum(() => true) / 1000).toFixed(0)} kB`);
  for (const { name, bytes } of [...all].sort((a, b) => b.bytes - a.bytes).slice(0, 6)) {
    out.push(`  ${name} ${(bytes / 1000).toFixed(1)} kB`);
  }
  const [program, browser] = await Promise.all([startDemo(1), startBrowser()]);
  const [width, height] = SIZES.lying;

  // First useful screen: 10 Mbit/s, 40 ms, the server warm, nothing kept from before.
  const fresh = await browser.newContext({ viewport: { width, height } });
  const firstPage = await fresh.newPage();
  await firstPage.addInitScript(() => {
    localStorage.setItem("dunlin-cautions", "none");
    localStorage.setItem("dunlin-choices", '{"ownBoat":"S1"}');
  });
  const network = await fresh.newCDPSession(firstPage);
  await network.send("Network.enable");
  await network.send("Network.emulateNetworkConditions", {
    offline: false,
    latency: 40,
    downloadThroughput: 10e6 / 8,
    uploadThroughput: 10e6 / 8,
  });
  await firstPage.goto(program.base, { waitUntil: "commit" });
  await firstPage.locator(".boat-canvas").waitFor();
  const ms = await firstPage.evaluate(() => performance.now());
  out.push(`first useful screen over 10 Mbit/s and 40 ms: ${ms.toFixed(0)} ms`);
  await fresh.close();

  const context = await browser.newContext({ viewport: { width, height } });
  const page = await context.newPage();
  await page.addInitScript(() => {
    localStorage.setItem("dunlin-cautions", "none");
    localStorage.setItem("dunlin-choices", '{"ownBoat":"S1"}');
  });
  const { hub, rush, stop } = await fakeServer();
  await page.goto(hub.base);
  await page.locator(".boat-canvas").waitFor();
  const session = await context.newCDPSession(page);
  // The thread's own time, so that other programs on the machine do not count.
  await session.send("Performance.enable", { timeDomain: "threadTicks" });
  await session.send("Emulation.setCPUThrottlingRate", { rate: THROTTLE });
  await page.waitForTimeout(4000);
  const calm = await busyShare(browser, page, session);
  out.push(
    `${BOATS} boats at 5 Hz, ${THROTTLE}x CPU throttling, ${BUSY_S} s: main thread busy ${(calm.busy * 100).toFixed(1)} %, ` +
      `longest task ${calm.longestMs.toFixed(0)} ms`,
  );

  await session.send("Emulation.setCPUThrottlingRate", { rate: 1 });
  const heap = async () => {
    await session.send("HeapProfiler.collectGarbage");
    const { metrics } = await session.send("Performance.getMetrics");
    return (metrics.find(({ name }) => name === "JSHeapUsedSize")?.value ?? 0) / 1e6;
  };
  const memory: string[] = [];
  for (let minute = 1; minute <= 60; minute += 1) {
    rush(60);
    await page.waitForTimeout(150);
    if (minute % 15 !== 0) continue;
    // Until all that was sent has been taken in.
    await page.waitForTimeout(4_000);
    memory.push(`${(await heap()).toFixed(1)} MB after ${minute} min`);
  }
  out.push(`memory, an hour at speed: ${memory.join(", ")}`);
  stop();
  await context.close();
  out.push(
    ...(await paintedDelays(browser, { count: ALERTS, boats: BOATS, tickMs: TICK_MS, rate: THROTTLE })),
  );
  await browser.close();
  await program.kill();
  process.stdout.write(`${out.join("\n")}\n`);
}

await main();
