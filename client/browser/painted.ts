// From an alert's frame to its card on the glass, and the same on an empty page: what the browser itself
// needs on this machine.
import type { Browser, BrowserContext, Page } from "playwright-core";
import { fleetOf, type ManyBoats } from "../dev/hundred.ts";
import type { AlertState } from "../src/wire/AlertState.ts";
import { type FakeHub, startFakeHub } from "./fakehub.ts";
import { SIZES } from "./tablet.ts";

/** Alerts that stand at a time: a fleet in a squall, not a wall of cards. */
const STANDING = 5;

/** What was measured of one alert, milliseconds. */
interface Delay {
  /** From the server's writing it to a socket of this machine. */
  readonly sent: number;
  /** From the page's being given it. */
  readonly heard: number;
}

/** Makes `page` stamp each alert's frame before anything else hears of it, and each card's paint. */
async function stamp(page: Page): Promise<void> {
  await page.addInitScript(() => {
    const heard = new Map<string, number>();
    const painted = new Map<string, [number, number]>();
    Object.assign(globalThis, { painted });
    const Plain = WebSocket;
    globalThis.WebSocket = class extends Plain {
      constructor(url: string | URL) {
        super(url);
        this.addEventListener("message", ({ data }) => {
          const text = String(data);
          if (!text.startsWith('{"kind":"alert"')) return;
          const id = /"id":(\d+)/.exec(text)?.[1];
          if (id !== undefined && !heard.has(id)) heard.set(id, performance.now());
        });
      }
    };
    // The first task after the frame in which the card is there for the first time.
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = ({ data }) => {
      const id = String(data);
      painted.set(id, [Date.now(), performance.now() - (heard.get(id) ?? Number.NaN)]);
    };
    const asked = new Set<string>();
    new MutationObserver(() => {
      for (const id of heard.keys()) {
        if (asked.has(id) || document.getElementById(`need-${id}`) === null) continue;
        asked.add(id);
        requestAnimationFrame(() => port2.postMessage(id));
      }
    }).observe(document, { subtree: true, childList: true });
  });
}

/** Sends `count` alerts at moments of their own, each when the one before has been painted. */
async function measure(page: Page, hub: FakeHub, fleet: ManyBoats, count: number): Promise<Delay[]> {
  const delays: Delay[] = [];
  for (let n = 0; n < count; n += 1) {
    const old = n - STANDING;
    if (old >= 0) hub.say({ kind: "alert", ...over(fleet.alert(1000 + old, old % 100)) });
    await page.waitForTimeout(350 + (n % 10) * 23);
    const id = String(1000 + n);
    const sentAt = Date.now();
    hub.say({ kind: "alert", ...fleet.alert(1000 + n, n % 100) });
    const found = await page.waitForFunction(
      (alert) => (globalThis as unknown as { painted: Map<string, [number, number]> }).painted.get(alert),
      id,
      { polling: 100 },
    );
    const [at, heard] = (await found.jsonValue()) as [number, number];
    delays.push({ sent: at - sentAt, heard });
  }
  return delays;
}

function over(alert: AlertState): AlertState {
  const at_ms = alert.raised_ms + 1;
  return { ...alert, cleared: { at_ms, reason: "righted" }, acknowledged: { by: "Mara", at_ms } };
}

function told(delays: readonly Delay[], pick: (delay: Delay) => number): string {
  const sorted = delays.map(pick).sort((a, b) => a - b);
  const at = (share: number) => sorted[Math.min(sorted.length - 1, Math.floor(sorted.length * share))];
  return [
    `median ${at(0.5)?.toFixed(0)}`,
    `p95 ${at(0.95)?.toFixed(0)}`,
    `p99 ${at(0.99)?.toFixed(0)}`,
    `worst ${sorted.at(-1)?.toFixed(0)} ms`,
  ].join(", ");
}

async function throttle(context: BrowserContext, page: Page, rate: number): Promise<void> {
  const session = await context.newCDPSession(page);
  await session.send("Emulation.setCPUThrottlingRate", { rate });
}

/** `count` alerts on the watch screen while `boats` boats report every `tickMs`, then on an empty page. */
export async function paintedDelays(
  browser: Browser,
  { count, boats, tickMs, rate }: { count: number; boats: number; tickMs: number; rate: number },
): Promise<string[]> {
  const [width, height] = SIZES.lying;
  const fleet = fleetOf(boats);
  let second = 0;
  let timer: NodeJS.Timeout | undefined;
  const hub = await startFakeHub((joined) => {
    joined.say({ kind: "snapshot", ...fleet.snapshot(second) });
    clearInterval(timer);
    timer = setInterval(() => {
      second += tickMs / 1000;
      joined.say({ kind: "tick", ...fleet.tick(second) });
    }, tickMs);
  });
  const context = await browser.newContext({ viewport: { width, height } });
  const page = await context.newPage();
  await page.addInitScript(() => {
    localStorage.setItem("dunlin-cautions", "none");
    localStorage.setItem("dunlin-choices", '{"ownBoat":"S1"}');
  });
  await stamp(page);
  await page.goto(hub.base);
  await page.locator(".boat-canvas").waitFor();
  await throttle(context, page, rate);
  await page.waitForTimeout(4_000);
  const watch = await measure(page, hub, fleet, count);
  clearInterval(timer);
  await context.close();
  hub.close();

  const bare = await startFakeHub(() => undefined);
  const other = await browser.newContext({ viewport: { width, height } });
  const empty = await other.newPage();
  await stamp(empty);
  await empty.goto(`${bare.base}/empty`);
  await empty.evaluate(() => {
    const socket = new WebSocket(`ws://${location.host}/live`);
    socket.onmessage = ({ data }) => {
      const { id, cleared } = JSON.parse(String(data)) as { id: number; cleared: unknown };
      if (cleared !== null) return document.getElementById(`need-${id}`)?.remove();
      const div = document.createElement("div");
      div.id = `need-${id}`;
      div.textContent = `Alert ${id}`;
      document.body.append(div);
    };
  });
  await throttle(other, empty, rate);
  await empty.waitForTimeout(1_000);
  const control = await measure(empty, bare, fleet, Math.min(count, 50));
  await other.close();
  bare.close();
  return [
    `alert painted, ${rate}x throttling, ${boats} boats every ${tickMs} ms, ${watch.length} alerts: ` +
      `from given to the page: ${told(watch, ({ heard }) => heard)}; from sent: ${told(watch, ({ sent }) => sent)}`,
    `  the first: ${watch[0]?.heard.toFixed(0)} ms`,
    `  an empty page and one line, ${control.length} times: from given to the page: ` +
      `${told(control, ({ heard }) => heard)}; from sent: ${told(control, ({ sent }) => sent)}`,
  ];
}
