// A centre with a fleet, a site, people who have joined, and phones on board, on the real program.
import type { Browser, BrowserContext, CDPSession, Page } from "playwright-core";
import { type Fresh, startFresh } from "./program.ts";
import { SIZES } from "./tablet.ts";

/** The middle of the water of these tests: open sea of no place in particular. */
export const MIDDLE = { lat: 54.103, lon: 3.205 };

const METRES_PER_DEG = 111_195;

/** A place so many metres north and east of the middle. */
export function place(northM: number, eastM: number): { latitude: number; longitude: number } {
  const shrink = Math.cos((MIDDLE.lat * Math.PI) / 180);
  return {
    latitude: MIDDLE.lat + northM / METRES_PER_DEG,
    longitude: MIDDLE.lon + eastM / METRES_PER_DEG / shrink,
  };
}

/** A sailing area two kilometres across, with the landing place given. */
export function site(landing?: { northM: number; eastM: number; halfM: number }): string {
  const square = (northM: number, eastM: number, halfM: number) =>
    [
      [-1, -1],
      [-1, 1],
      [1, 1],
      [1, -1],
      [-1, -1],
    ].map(([north = 0, east = 0]) => {
      const at = place(northM + north * halfM, eastM + east * halfM);
      return [at.longitude, at.latitude];
    });
  const feature = (kind: string, name: string, ring: number[][]) => ({
    type: "Feature",
    properties: { kind, name },
    geometry: { type: "Polygon", coordinates: [ring] },
  });
  const features = [feature("sailing-area", "Test Water", square(0, 0, 1000))];
  if (landing !== undefined)
    features.push(feature("landing", "Slip", square(landing.northM, landing.eastM, landing.halfM)));
  return JSON.stringify({ type: "FeatureCollection", features });
}

/** A running centre. */
export interface Centre {
  readonly program: Fresh;
  /** A browser in which the duty officer has joined. */
  readonly officer: BrowserContext;
  /** A page of the officer's, opened at a path, with the cautions read. */
  open(path?: string): Promise<Page>;
  /** A boat's phone, not started. */
  phone(boat: string): Promise<Phone>;
  /** Asks the server as the duty officer. */
  ask(method: "GET" | "POST" | "PUT", path: string, body?: unknown): Promise<string>;
  close(): Promise<void>;
}

/** Starts one with this fleet (TOML) and site (GeoJSON). */
export async function startCentre(browser: Browser, fleet: string, geojson: string): Promise<Centre> {
  const program = await startFresh();
  const [width, height] = SIZES.lying;
  const officer = await browser.newContext({ viewport: { width, height } });
  const ask = async (method: "GET" | "POST" | "PUT", path: string, body?: unknown) => {
    const isText = typeof body === "string";
    const answer = await officer.request.fetch(program.base + path, {
      method,
      headers: { origin: program.base, "content-type": isText ? "text/plain" : "application/json" },
      ...(body === undefined ? {} : { data: isText ? body : JSON.stringify(body) }),
    });
    const text = await answer.text();
    if (!answer.ok()) throw new Error(`${method} ${path}: ${answer.status()} ${text}`);
    return text;
  };
  await ask("POST", "/api/join", { name: "Robin", code: program.code });
  await ask("PUT", "/api/fleet", fleet);
  await ask("PUT", "/api/site", geojson);
  await officer.addInitScript(() => {
    localStorage.setItem("dunlin-cautions", "none");
  });
  return {
    program,
    officer,
    ask,
    open: async (path = "/") => {
      const page = await officer.newPage();
      await page.goto(program.base + path);
      await page.locator("header.bar").waitFor();
      return page;
    },
    phone: async (boat) => {
      const link: unknown = JSON.parse(await ask("POST", "/api/boat-keys", { boat }));
      return openPhone(browser, program.base, (link as { code: string }).code);
    },
    close: async () => {
      await officer.close();
      await program.kill();
    },
  };
}

/** A crew's phone in a browser of its own. */
export interface Phone {
  readonly page: Page;
  readonly context: BrowserContext;
  /** Everything that went wrong in the page. */
  readonly complaints: string[];
  /** Is at this place now, as its receiver says. */
  isAt(northM: number, eastM: number): Promise<void>;
  /** Lies as it does in a boat that heels so far, degrees to starboard. */
  heels(deg: number): Promise<void>;
  /** Closes the page and opens it again, as somebody does whose phone was restarted. */
  reopen(): Promise<void>;
}

const GRAVITY = 9.81;

/** Opens a phone with a boat's key. */
export async function openPhone(browser: Browser, base: string, key: string): Promise<Phone> {
  const [width, height] = SIZES.phone;
  const context = await browser.newContext({
    viewport: { width, height },
    hasTouch: true,
    isMobile: true,
    permissions: ["geolocation", "accelerometer", "gyroscope"],
  });
  const complaints: string[] = [];
  await context.addInitScript(() => {
    const shakes: unknown[] = [];
    Object.assign(globalThis, { shakes });
    navigator.vibrate = (pattern) => shakes.push(pattern) > 0;
  });
  let page = await context.newPage();
  let sensors: CDPSession;
  const begin = async (address: string) => {
    page.on("pageerror", (error) => complaints.push(String(error)));
    sensors = await context.newCDPSession(page);
    for (const type of ["accelerometer", "linear-acceleration", "gyroscope"] as const) {
      await sensors.send("Emulation.setSensorOverrideEnabled", { enabled: true, type });
    }
    await page.goto(address);
  };
  await begin(`${base}/phone.html#key=${key}`);
  return {
    get page() {
      return page;
    },
    context,
    complaints,
    isAt: (northM, eastM) => context.setGeolocation({ ...place(northM, eastM), accuracy: 4 }),
    heels: async (deg) => {
      // Flat, its top to the bow: when the right edge goes down, the pull it reports leans to its left.
      const rad = (deg * Math.PI) / 180;
      const xyz = { x: -GRAVITY * Math.sin(rad), y: 0, z: GRAVITY * Math.cos(rad) };
      const still = { x: 0, y: 0, z: 0 };
      const say = (type: "accelerometer" | "linear-acceleration" | "gyroscope", felt: typeof still) =>
        sensors.send("Emulation.setSensorOverrideReadings", { type, reading: { xyz: felt } });
      await say("linear-acceleration", still);
      await say("gyroscope", still);
      await say("accelerometer", xyz);
    },
    reopen: async () => {
      await page.close();
      page = await context.newPage();
      await begin(`${base}/phone.html`);
    },
  };
}
