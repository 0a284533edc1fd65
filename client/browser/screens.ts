// Every screen and state there is to look at, and how a person gets there.
import type { Choices } from "../src/settings.svelte.ts";
import type { Action } from "../src/wire/Action.ts";
import type { Snapshot } from "../src/wire/Snapshot.ts";
import type { Tablet } from "./tablet.ts";

/** One screen or state. */
export interface Shot {
  readonly name: string;
  /** `fresh`: nothing set up; `quiet`: a fleet in no trouble; `busy`: the same in trouble; `demo`. */
  readonly world: "fresh" | "quiet" | "busy" | "demo";
  readonly path?: string;
  readonly steps?: (tablet: Tablet) => Promise<void>;
  readonly choices?: Partial<Choices>;
  readonly cautions?: boolean;
  /** Opened without the key that the others have. */
  readonly stranger?: boolean;
  /** What is there when the page has come; without it the strip on top. */
  readonly first?: string;
}

type Steps = (tablet: Tablet) => Promise<void>;

const press =
  (...names: (string | RegExp)[]): Steps =>
  async ({ page }) => {
    for (const name of names) {
      await page
        .getByRole("button", { name, exact: typeof name === "string" })
        .first()
        .click();
      await page.waitForTimeout(500);
    }
  };

const boat =
  (id: string): Steps =>
  async (tablet) => {
    await press("Boats")(tablet);
    await tablet.page
      .locator("main li button")
      .filter({ has: tablet.page.locator(".id", { hasText: new RegExp(`^\\s*${id}\\s*$`) }) })
      .click();
    await tablet.page.waitForTimeout(1000);
  };

const wind: Steps = async ({ page }) => {
  await page.locator("button.wind").click();
  await page.waitForTimeout(1000);
};

const all =
  (...steps: Steps[]): Steps =>
  async (tablet) => {
    for (const step of steps) await step(tablet);
  };

/** Holds the handle half-way. */
const halfSlide: Steps = async ({ page }) => {
  const handle = await page.getByRole("button", { name: /^Person overboard/ }).boundingBox();
  if (handle === null) throw new Error("the handle is not on the screen");
  const [x, y] = [handle.x + handle.width / 2, handle.y + handle.height / 2];
  await page.mouse.move(x, y);
  await page.mouse.down();
  await page.mouse.move(x + 90, y, { steps: 6 });
};

const cut: Steps = async ({ page, wire }) => {
  wire.cut = true;
  await page.getByRole("heading", { name: /^Not watching/ }).waitFor({ timeout: 40_000 });
};

/** Asks for actions as a tablet does, on a socket of its own. */
export async function sendAll({ page }: Tablet, actions: readonly Action[]): Promise<void> {
  const refused = await page.evaluate(
    (asked) =>
      new Promise<string[]>((done) => {
        const socket = new WebSocket(`ws://${location.host}/live?tablet=shots-${performance.now()}`);
        const wrong: string[] = [];
        let left = asked.length;
        socket.onopen = () => {
          for (const [index, action] of asked.entries())
            socket.send(JSON.stringify({ request: index + 1, action }));
        };
        socket.onmessage = ({ data }) => {
          const message = JSON.parse(String(data)) as {
            kind: string;
            request: number;
            refused: string | null;
          };
          if (message.kind !== "outcome") return;
          if (message.refused !== null)
            wrong.push(`${JSON.stringify(asked[message.request - 1])}: ${message.refused}`);
          left -= 1;
          if (left === 0) {
            socket.close();
            done(wrong);
          }
        };
      }),
    actions as Action[],
  );
  if (refused.length > 0) throw new Error(refused.join("\n"));
}

/** A phone on board: its page is opened by the code that a duty officer's tablet shows. */
const phone =
  (...then: Steps[]): Steps =>
  async (tablet) => {
    const { page, context } = tablet;
    const url = await page.evaluate(async () => {
      const answer = await fetch("/api/boat-keys", {
        method: "POST",
        headers: { "content-type": "application/json" },
        body: JSON.stringify({ boat: "09" }),
      });
      return ((await answer.json()) as { url: string }).url;
    });
    await context.grantPermissions(["geolocation"]);
    await context.setGeolocation({ latitude: 54.1, longitude: 3.2, accuracy: 5 });
    await page.goto(url.replace(/^https?:\/\/[^/]+/, new URL(page.url()).origin));
    await page.waitForTimeout(600);
    for (const step of then) await step(tablet);
  };

const phoneStart = press("Start");
const phoneHelp: Steps = async ({ page }) => {
  const button = page.getByRole("button", { name: /help/i });
  await page.waitForTimeout(800);
  // Once called for, help stays called for, whichever phone the boat has.
  if ((await button.count()) === 0) return;
  const box = await button.boundingBox();
  if (box === null) throw new Error("no button for help");
  await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
  await page.mouse.down();
  await page.waitForTimeout(2_000);
  await page.mouse.up();
  await page.waitForTimeout(2_500);
};

const day = (tab: string, more: Partial<Shot> = {}): Shot => ({
  name: `day-${tab.toLowerCase().replaceAll(" ", "-")}`,
  world: "busy",
  path: "/day",
  steps: press(tab),
  ...more,
});

const report: Steps = async (tablet) => {
  await press("After sailing")(tablet);
  const select = tablet.page.getByLabel("Report of an incident");
  const value = await select
    .locator("option", { hasText: /:\d\d\s+07\s/ })
    .first()
    .getAttribute("value");
  await select.selectOption(value ?? "");
  await tablet.page.locator("article").waitFor();
  await tablet.page.locator("article").scrollIntoViewIfNeeded();
  await tablet.page.waitForTimeout(400);
};

/** Somebody in no boat is late. */
const personOverdue: Steps = async (tablet) => {
  const ada = await tablet.page.evaluate(async () => {
    const { day } = (await (await fetch("/api/snapshot")).json()) as Snapshot;
    return day.people.find(({ name }) => name === "Ada")?.id ?? -1;
  });
  const late = { title: "Tuesday beginners", staff: ["Mara", "Robin"], back_by_ms: Date.now() - 300_000 };
  const plan = { ...late, water_c: 13, wind_limit_kn: 16, tides: [] };
  await sendAll(tablet, [
    { kind: "day", change: { what: "place", person: ada, boat: null } },
    { kind: "day", change: { what: "stand", person: ada, standing: "unaccounted" } },
    { kind: "day", change: { what: "session", ...plan } },
  ]);
  const card = tablet.page.locator("article.card").filter({ hasText: "Not back yet" });
  await card.waitFor();
  await card.scrollIntoViewIfNeeded();
  await tablet.page.waitForTimeout(1_000);
};

/** A signal to everyone stands, and this phone shows it. */
const phoneSignal: Steps = async (tablet) => {
  await sendAll(tablet, [{ kind: "signal", signal: "all-in", words: "Wind is rising" }]);
  await tablet.page.getByText("Everyone in").waitFor();
};

/** The phone is out of reach of the server. */
const phoneLost: Steps = async ({ page, context }) => {
  await page.waitForTimeout(2_500);
  await context.setOffline(true);
  await page.getByText(/Not heard for/).waitFor({ timeout: 20_000 });
  await page.waitForTimeout(6_000);
};

const measured: Steps = async (tablet) => {
  await press("Measure")(tablet);
  const box = await tablet.page.locator(".map").boundingBox();
  if (box === null) throw new Error("no chart");
  await tablet.page.mouse.click(box.x + box.width * 0.3, box.y + box.height * 0.3);
  await tablet.page.waitForTimeout(500);
  await tablet.page.mouse.click(box.x + box.width * 0.6, box.y + box.height * 0.55);
  await tablet.page.waitForTimeout(500);
};

/** All of them. */
export const SCREENS: readonly Shot[] = [
  { name: "join", world: "fresh", first: "h1", stranger: true },
  {
    name: "no-server",
    world: "fresh",
    stranger: true,
    first: "h1",
    steps: async ({ page }) => {
      // The page as it stands while every question goes unanswered.
      await page.route("**/api/**", () => undefined);
      await page.reload();
      await page.getByRole("heading", { name: "No server" }).waitFor();
    },
  },
  { name: "empty", world: "fresh" },
  { name: "watch-quiet", world: "quiet" },
  { name: "cautions-first", world: "quiet", cautions: true },
  { name: "wind", world: "quiet", steps: wind },
  { name: "boat", world: "quiet", steps: boat("05") },
  { name: "overboard-half", world: "quiet", steps: halfSlide },
  { name: "overboard-touched", world: "quiet", steps: press(/^Person overboard/) },
  {
    name: "overboard-which",
    world: "quiet",
    steps: press(/^Person overboard/, "Person overboard Yes, now"),
  },
  { name: "menu", world: "quiet", steps: press("Menu") },
  { name: "sound", world: "quiet", steps: press("Menu", "Sound", "Volume check") },
  { name: "limits", world: "quiet", steps: press("Limits") },
  { name: "largest", world: "quiet", choices: { size: "xl" } },
  { name: "day-session-none", world: "quiet", path: "/day", steps: press("Session") },
  { name: "phone-join", world: "quiet", steps: phone() },
  {
    name: "phone-sending",
    world: "quiet",
    steps: phone(phoneStart, async ({ page }) => page.waitForTimeout(3000)),
  },
  { name: "phone-not-heard", world: "quiet", steps: phone(phoneStart, phoneLost) },
  { name: "measured", world: "quiet", steps: measured },
  { name: "wind-up", world: "quiet", choices: { up: "wind" } },
  { name: "bow-up", world: "quiet", choices: { up: "bow" } },
  { name: "watch-alerts", world: "busy" },
  { name: "rescue-count", world: "busy", steps: all(boat("03"), press("Rescue of 03")) },
  { name: "watch-left", world: "busy", choices: { hand: "left" } },
  { name: "watch-dutch", world: "busy", choices: { language: "nl", size: "l" } },
  { name: "boat-capsized", world: "busy", steps: boat("07") },
  { name: "rescue", world: "busy", steps: press("Open") },
  { name: "hand-over", world: "busy", steps: all(press("Open"), press("Hand over")) },
  { name: "all-clear", world: "busy", steps: press("All clear") },
  { name: "boats", world: "busy", steps: press("Boats") },
  { name: "log", world: "busy", steps: press("Menu", "Log of the day") },
  { name: "lost", world: "busy", steps: cut },
  { name: "ashore", world: "busy", path: "/ashore" },
  { name: "feeds", world: "busy", path: "/feeds" },
  day("Session"),
  day("People"),
  day("Launch"),
  day("After sailing"),
  day("Site and fleet"),
  day("Who may join"),
  { name: "report", world: "busy", path: "/day", steps: report },
  { name: "boat-code", world: "busy", path: "/day", steps: press("Who may join", "Code for boat 07") },
  { name: "phone-help", world: "busy", steps: phone(phoneStart, phoneHelp) },
  { name: "phone-all-in", world: "busy", steps: phone(phoneStart, phoneSignal) },
  { name: "watch-all-in", world: "busy" },
  { name: "person-overdue", world: "busy", steps: personOverdue },
  { name: "demo", world: "demo" },
  { name: "demo-wind", world: "demo", steps: wind },
  { name: "demo-site", world: "demo", path: "/day", steps: press("Site and fleet") },
];

/** What is printed. */
export const PAPERS: readonly Shot[] = [
  { name: "print-ashore", world: "busy", path: "/ashore" },
  { name: "print-report", world: "busy", path: "/day", steps: report },
  { name: "print-log", world: "busy", steps: press("Menu", "Log of the day") },
  { name: "print-code", world: "busy", path: "/day", steps: press("Who may join", "Code for boat 07") },
];
