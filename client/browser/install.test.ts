// The pages as an installed app: its icons, and its start out of reach of the server.
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { freePort, type Program, startDemo } from "./program.ts";
import { startBrowser } from "./tablet.ts";

let program: Program;
let browser: Browser;
let port: number;

beforeAll(async () => {
  port = await freePort();
  [program, browser] = await Promise.all([startDemo(1, port), startBrowser()]);
});

afterAll(async () => {
  await browser.close();
  await program.kill();
});

interface Manifest {
  start_url: string;
  display: string;
  icons: { src: string; sizes: string; type: string; purpose?: string }[];
}

describe("the manifest", () => {
  it("names icons that are there, of the size and kind that it says", async () => {
    const page = await (await browser.newContext()).newPage();
    await page.goto(program.base);
    const link = await page.locator('link[rel="manifest"]').getAttribute("href");
    const manifest: Manifest = await (await fetch(new URL(link ?? "", program.base))).json();
    expect(manifest.icons.length).toBeGreaterThanOrEqual(3);
    for (const { src, sizes, type } of manifest.icons) {
      const answer = await fetch(new URL(src, program.base));
      expect(answer.status, src).toBe(200);
      expect(answer.headers.get("content-type"), src).toBe(type);
      const drawn = await page.evaluate(async (address) => {
        const image = new Image();
        image.src = address;
        await image.decode();
        return [image.naturalWidth, image.naturalHeight];
      }, src);
      if (sizes === "any") expect(drawn[0], src).toBeGreaterThan(0);
      else expect(`${drawn[0]}x${drawn[1]}`, src).toBe(sizes);
    }
    // What a browser asks of an app that can be installed: 192 and 512 px, one of them maskable.
    const all = manifest.icons.map(({ sizes, purpose }) => `${sizes} ${purpose ?? "any"}`);
    expect(all).toContain("192x192 any");
    expect(all).toContain("512x512 any");
    expect(all).toContain("512x512 maskable");
    const touch = await page.locator('link[rel="apple-touch-icon"]').getAttribute("href");
    expect((await fetch(new URL(touch ?? "", program.base))).status).toBe(200);
    await page.context().close();
  });

  it("is without fault to Chromium", async () => {
    const page = await (await browser.newContext()).newPage();
    await page.goto(program.base);
    const session = await page.context().newCDPSession(page);
    const { errors } = await session.send("Page.getAppManifest");
    expect(errors).toEqual([]);
    await page.context().close();
  });
});

describe("a start out of reach of the server", () => {
  it("is a plain page that says so, keeps looking, and finds the server by itself", async () => {
    const page = await (await browser.newContext({ viewport: { width: 1180, height: 820 } })).newPage();
    await page.addInitScript(() => localStorage.setItem("dunlin-cautions", "none"));
    await page.goto(program.base);
    await page.locator("header.bar").waitFor();
    await page.evaluate(async () => {
      await navigator.serviceWorker.ready;
      if (navigator.serviceWorker.controller === null)
        await new Promise((done) => navigator.serviceWorker.addEventListener("controllerchange", done));
    });
    await program.kill();
    for (const path of ["/", "/ashore"]) {
      await page.goto(program.base + path);
      await page.getByRole("heading", { name: "No server" }).waitFor();
      await page.getByText("dunlin is not watching", { exact: false }).waitFor();
      // Nothing of what the server said before may be shown as if it were now.
      expect(await page.locator(".boat-canvas").count()).toBe(0);
      expect(await page.locator("body").innerText()).not.toMatch(/Watching\b|Out:/);
    }
    program = await startDemo(1, port);
    // No press, no reload.
    await page.getByText("Who is still out").waitFor({ timeout: 40_000 });
    await page.context().close();
  });
});
