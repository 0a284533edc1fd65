// A tablet: a real Chromium window of a tablet's size, with what is needed to look inside.
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { type Browser, type BrowserContext, chromium, type Page, type WebSocketRoute } from "playwright-core";
import type { Choices } from "../src/settings.svelte.ts";

/** The sizes looked at: a tablet lying, a tablet upright, a phone. */
export const SIZES = { lying: [1180, 820], upright: [820, 1180], phone: [390, 844] } as const;

/** One of them. */
export type Size = keyof typeof SIZES;

const AXE = readFileSync(join(import.meta.dirname, "../node_modules/axe-core/axe.min.js"), "utf8");

/** Starts Chromium; it asks nobody outside for anything. */
export function startBrowser(): Promise<Browser> {
  return chromium.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    args: [
      "--no-sandbox",
      "--disable-gpu",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
      "--no-first-run",
      "--autoplay-policy=user-gesture-required",
    ],
  });
}

/** A link that a test can cut. */
export interface Wire {
  /** Nothing passes any more, and nobody is told: what a dead radio link does. */
  cut: boolean;
}

/** An open tablet. */
export interface Tablet {
  readonly page: Page;
  readonly context: BrowserContext;
  readonly wire: Wire;
  /** Everything that went wrong in the page. */
  readonly complaints: string[];
  close(): Promise<void>;
}

/** How to open it. */
export interface Opening {
  readonly size?: Size;
  readonly path?: string;
  readonly choices?: Partial<Choices>;
  /** Leave the cautions to be read; else they count as read. */
  readonly cautions?: boolean;
  /** The session whose cautions count as read; else that of a day without one. */
  readonly session?: string;
  /** What is there when the page has come; else the strip on top. */
  readonly first?: string;
  /** The key by which the server knows this browser; the demonstration asks for none. */
  readonly cookie?: { readonly name: string; readonly value: string; readonly url: string };
}

/** Opens a tablet on the program at `base` and waits for its first picture. */
export async function openTablet(browser: Browser, base: string, opening: Opening = {}): Promise<Tablet> {
  const [width, height] = SIZES[opening.size ?? "lying"];
  const context = await browser.newContext({ viewport: { width, height }, hasTouch: true, bypassCSP: false });
  if (opening.cookie !== undefined) await context.addCookies([opening.cookie]);
  const page = await context.newPage();
  const complaints: string[] = [];
  page.on("pageerror", (error) => complaints.push(String(error)));
  page.on("console", (message) => {
    if (message.type() === "error") complaints.push(message.text());
  });
  const wire: Wire = { cut: false };
  await page.routeWebSocket(/\/live/, (route) => passOn(route, wire));
  const kept = {
    choices: opening.choices ?? {},
    session: opening.cautions === true ? null : (opening.session ?? "none"),
  };
  await page.addInitScript(({ choices, session }) => {
    if (localStorage.getItem("dunlin-choices") === null) {
      localStorage.setItem("dunlin-choices", JSON.stringify(choices));
    }
    // The phone on board keeps its own light.
    if (choices.theme !== undefined && localStorage.getItem("dunlin-phone-light") === null) {
      localStorage.setItem("dunlin-phone-light", choices.theme);
    }
    if (session !== null) localStorage.setItem("dunlin-cautions", session);
    // What is spoken is kept for the test to read.
    const spoken: string[] = [];
    Object.assign(globalThis, { spoken });
    speechSynthesis.speak = (utterance) => void spoken.push(utterance.text);
  }, kept);
  await page.goto(base + (opening.path ?? "/"));
  // The strip on top comes with the first picture; a page without a server has a body but not that.
  await page
    .locator(opening.first ?? "header.bar")
    .first()
    .waitFor();
  return { page, context, wire, complaints, close: () => context.close() };
}

function passOn(route: WebSocketRoute, wire: Wire): void {
  if (wire.cut) return; // Opened into nothing: no answer, no close.
  const server = route.connectToServer();
  route.onMessage((message) => {
    if (!wire.cut) server.send(message);
  });
  server.onMessage((message) => {
    if (!wire.cut) route.send(message);
  });
}

/** What axe finds against WCAG 2.2 AA; empty when nothing. */
export async function axe(page: Page): Promise<string[]> {
  // By the debugger, since the pages' own rules allow no foreign script.
  await page.evaluate(AXE);
  return page.evaluate(async () => {
    const tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
    const runner = (
      globalThis as unknown as { axe: { run: (root: Document, o: object) => Promise<AxeFound> } }
    ).axe;
    const found = await runner.run(document, { runOnly: tags });
    return found.violations.map(
      ({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 160)).join(" | ")}`,
    );
  });
}

interface AxeFound {
  violations: { id: string; nodes: { html: string }[] }[];
}

/** What the tablet has said aloud. */
export function spokenBy(page: Page): Promise<string[]> {
  return page.evaluate(() => (globalThis as unknown as { spoken: string[] }).spoken);
}

/** Marks a boat by hand, as a person would: Boats, the boat, the mark. */
export async function markByHand(page: Page, id: string, mark: string): Promise<void> {
  await page.getByRole("button", { name: "Boats", exact: true }).click();
  await page
    .locator("main li button")
    .filter({ has: page.locator(".id", { hasText: new RegExp(`^\\s*${id}\\s*$`) }) })
    .click();
  await page.getByRole("button", { name: mark, exact: true }).click();
}
