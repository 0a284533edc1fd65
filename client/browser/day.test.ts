import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { openPhone } from "./centre.ts";
import { type Fresh, startFresh } from "./program.ts";
import { axe, startBrowser } from "./tablet.ts";

let program: Fresh;
let browser: Browser;
let page: Page;

beforeAll(async () => {
  [program, browser] = await Promise.all([startFresh(), startBrowser()]);
  page = await (await browser.newContext({ viewport: { width: 1180, height: 820 } })).newPage();
});

afterAll(async () => {
  await browser.close();
  await program.kill();
});

/** A boat's part of the page that lists them, and a person's. */
const boat = (id: string) =>
  page.locator(".boats > li").filter({ has: page.getByRole("heading", { name: new RegExp(`^${id}\\b`) }) });
const person = (name: string) =>
  page.locator("main li").filter({ has: page.locator("b", { hasText: new RegExp(`^${name}$`) }) });

async function writeDown(id: string, what: string, safety: boolean): Promise<void> {
  await press("After sailing");
  await page.locator("form").getByLabel("Boat").selectOption({ label: id });
  await page.getByLabel("What is broken").fill(what);
  if (safety) await page.getByLabel("She must not go out with it").check();
  await press("Write down a defect");
  await page.locator(".defect", { hasText: what }).waitFor();
}

const press = (name: string | RegExp) =>
  page
    .getByRole("button", { name, exact: typeof name === "string" })
    .first()
    .click();

const DINGHIES = ["01", "02", "03", "04", "05", "06", "07", "08"];
const SAFETY = ["S1", "S2"];

const FLEET = [
  ...SAFETY.map((id) => `[[boat]]\nid = "${id}"\nrole = "safety"\ncrew = 1\n`),
  ...DINGHIES.map((id) => `[[boat]]\nid = "${id}"\nrole = "dinghy"\ncrew = 3\n`),
].join("\n");

/** Two staff and 22 learners, two or three in each dinghy: invented names. */
const PEOPLE: readonly (readonly [name: string, part: string, boat: string])[] = [
  ["Cleo", "staff", "S1"],
  ["Wim", "staff", "S2"],
  ...[
    ["Ada", "Abel", "Anouk"],
    ["Bo", "Bram", "Britt"],
    ["Cas", "Carla", "Cyn"],
    ["Daan", "Dilek", "Dora"],
    ["Eef", "Emre", "Esra"],
    ["Finn", "Fleur", "Femke"],
    ["Zofia", "Zeno"],
    ["Hugo", "Hind"],
  ].flatMap((crew, n) => crew.map((name) => [name, "learner", DINGHIES[n] ?? ""] as const)),
];

const SITE = JSON.stringify({
  type: "FeatureCollection",
  features: [
    {
      type: "Feature",
      properties: { kind: "sailing-area", name: "Test Water" },
      geometry: {
        type: "Polygon",
        coordinates: [
          [
            [3.2, 54.1],
            [3.21, 54.1],
            [3.21, 54.106],
            [3.2, 54.106],
            [3.2, 54.1],
          ],
        ],
      },
    },
  ],
});

const WALKED = `<?xml version="1.0"?><gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">
<trk><name>Slip</name><trkseg>
<trkpt lat="54.1000" lon="3.2020"/><trkpt lat="54.1000" lon="3.2040"/><trkpt lat="54.1008" lon="3.2040"/><trkpt lat="54.1008" lon="3.2020"/>
</trkseg></trk></gpx>`;

// One day, in its order: each step stands on the one before.
describe("a day from nothing", () => {
  it("lets nobody in without a code, and says what is wrong with a false one", async () => {
    await page.goto(program.base);
    await page.getByRole("heading", { name: "Join the watch" }).waitFor();
    expect(await axe(page)).toEqual([]);
    await page.getByLabel("Your name").fill("Robin");
    await page.getByLabel("Code").fill("WRONG12345");
    await press("Join");
    await page.getByRole("alert").getByText("not known").waitFor();
  });

  it("makes the first duty officer by the code, and says what to do next", async () => {
    await page.getByLabel("Code").fill(program.code);
    await press("Join");
    await press("Understood");
    await page.getByRole("heading", { name: "What to do next" }).waitFor();
    expect(await axe(page)).toEqual([]);
  });

  it("takes a fleet, and tells line and remedy of a wrong one", async () => {
    await press("Or set it up here");
    await page.locator("textarea").fill("[[boat]]\nid = 7\n");
    await press("Put this fleet in force");
    await page.locator(".problems li").first().waitFor();
    expect(await page.locator(".problems li").first().innerText()).toMatch(/line \d+/i);
    await page.locator("textarea").fill(FLEET);
    await press("Put this fleet in force");
    await page.getByText("In force.", { exact: true }).waitFor();
  });

  it("takes a site out of GeoJSON and a walked line out of GPX", async () => {
    const files = page.locator('input[type="file"]');
    await files.setInputFiles({
      name: "site.geojson",
      mimeType: "application/geo+json",
      buffer: Buffer.from(SITE),
    });
    await page.getByLabel("Read lines and points as").selectOption("landing");
    await files.setInputFiles({
      name: "slip.gpx",
      mimeType: "application/gpx+xml",
      buffer: Buffer.from(WALKED),
    });
    await page.getByText("Not in force yet.").waitFor();
    await press("Put this site in force");
    await page.getByText("In force.", { exact: true }).waitFor();
    const kept = await page.evaluate(async () => (await fetch("/api/site")).json());
    const kinds = (kept as { features: { properties: { kind: string } }[] }).features.map(
      (f) => f.properties.kind,
    );
    expect(kinds.sort()).toEqual(["landing", "sailing-area"]);
  });

  it("takes the last change back", async () => {
    await page.locator('input[type="file"]').setInputFiles({
      name: "more.gpx",
      mimeType: "application/gpx+xml",
      buffer: Buffer.from(WALKED),
    });
    await page.getByText("Not in force yet.").waitFor();
    await press("Undo");
    await press("Put this site in force");
    await page.getByText("In force.", { exact: true }).waitFor();
    const kept = await page.evaluate(async () => (await fetch("/api/site")).json());
    expect((kept as { features: unknown[] }).features.length).toBe(2);
  });

  it("opens a session with 24 people and their boats", async () => {
    await press("Session");
    await page.getByLabel("Title").fill("Tuesday beginners");
    await page.getByLabel("Everyone back by").fill("23:30");
    await press("Open a session");
    // A new session begins with the cautions.
    await press("Understood");
    await page.getByRole("heading", { name: "Tuesday beginners" }).waitFor();
    await press("People");
    const list = PEOPLE.map((line) => line.join(";")).join("\n");
    await page.getByLabel("One a line", { exact: false }).fill(list);
    await press("Add");
    await person("Zofia").waitFor();
    await page.getByRole("heading", { name: "0 of 24 out" }).waitFor();
    for (const [name] of PEOPLE) await person(name).getByLabel("Buoyancy aid seen").check();
    expect(await axe(page)).toEqual([]);
  });

  it("ticks each boat's launch check, as the centre's own list has it", async () => {
    await press("Launch");
    await page.getByText("Check list before launching", { exact: false }).click();
    await page.getByLabel("Check list before launching", { exact: false }).fill("bungs\nbuoyancy\nrigging");
    await press("Save");
    for (const id of [...SAFETY, ...DINGHIES]) {
      await boat(id).getByText("0 of 3 checked").click();
      for (const item of ["bungs", "buoyancy", "rigging"]) await boat(id).getByLabel(item).check();
      await boat(id).getByText("3 of 3 checked").waitFor();
    }
  });

  it("keeps a boat with an open safety defect ashore until a named person lets her go", async () => {
    await writeDown("05", "rudder pintle bent", true);
    await press("Launch");
    await boat("05").getByText("OPEN SAFETY DEFECT").waitFor();
    await boat("05").getByRole("button", { name: "Launched" }).click();
    await page.getByText("Refused", { exact: false }).first().waitFor();
    await boat("05").getByText("ashore").first().waitFor();
    await boat("05").getByLabel("Let her go out all the same", { exact: false }).fill("spare rudder fitted");
    await boat("05").getByRole("button", { name: "Save" }).click();
    await boat("05").getByText("allowed by Robin: spare rudder fitted").waitFor();
  });

  it("launches everyone", async () => {
    for (const id of [...SAFETY, ...DINGHIES]) {
      await boat(id).getByRole("button", { name: "Launched" }).click();
      await boat(id).getByText("afloat").waitFor();
    }
    await press("People");
    await page.getByRole("heading", { name: "24 of 24 out" }).waitFor();
  });

  it("follows two swaps afloat by person", async () => {
    await person("Zofia").getByLabel("Boat").selectOption({ label: "S1" });
    await person("Hind").getByLabel("Boat").selectOption({ label: "01" });
    await press("Launch");
    for (const [id, names, count] of [
      ["S1", "Cleo, Zofia", "2 persons"],
      ["07", "Zeno", "1 person"],
      ["01", "Hind", "4 persons"],
      ["08", "Hugo", "1 person"],
    ] as const) {
      await boat(id).getByText(count, { exact: false }).waitFor();
      await boat(id).getByText(names, { exact: false }).waitFor();
    }
    await press("People");
    await page.getByRole("heading", { name: "24 of 24 out" }).waitFor();
  });

  it("refuses to close with people out", async () => {
    await press("Session");
    await page.getByText("10 boats and 24 persons are still out or not counted", { exact: false }).waitFor();
    const close = page.getByRole("button", { name: "Close the session" });
    expect(await close.isDisabled()).toBe(true);
  });

  it("asks for a count when a boat lies at the landing place, and counts nobody by itself", async () => {
    const code = await page.evaluate(async () => {
      const headers = { "content-type": "application/json" };
      const body = JSON.stringify({ boat: "03" });
      const answer = await fetch("/api/boat-keys", { method: "POST", headers, body });
      return ((await answer.json()) as { code: string }).code;
    });
    const phone = await openPhone(browser, program.base, code);
    await phone.isAt(0, 0);
    await phone.page.getByRole("button", { name: "Start" }).click();
    await phone.page.getByText("You are being heard").waitFor();
    // In from the water at two metres a second, and then she lies there.
    for (let n = 0; n <= 20; n += 1) {
      await phone.isAt(-230 - 3 * n, -130);
      await page.waitForTimeout(1_000);
    }
    await press("Launch");
    const asks = boat("03").getByText("Landed: count heads, then press Back.");
    for (let n = 0; n < 110 && (await asks.count()) === 0; n += 1) {
      // A receiver that lies still wanders a little; one that repeats itself exactly is taken for frozen.
      await phone.isAt(-290 + Math.sin(n), -130 + Math.cos(1.7 * n));
      await page.waitForTimeout(1_000);
    }
    await asks.waitFor();
    await press("People");
    await person("Cas").getByText("afloat", { exact: false }).first().waitFor();
    await page.getByRole("heading", { name: "24 of 24 out" }).waitFor();
    await phone.context.close();
  }, 180_000);

  it("shows them ashore, person by person", async () => {
    await press("Menu");
    await press("Ashore");
    await page.getByRole("rowheader", { name: "Ada" }).waitFor();
    const row = page.getByRole("row", { name: /Zofia/ });
    expect(await row.innerText()).toContain("S1");
    expect(await axe(page)).toEqual([]);
  });

  it("brings the boats back, heads counted, and their people with them", async () => {
    await press("Menu");
    await press("The day");
    await press("Launch");
    for (const id of [...SAFETY, ...DINGHIES].slice(0, -1)) {
      await boat(id).getByRole("button", { name: "Back, heads counted" }).click();
      await boat(id).getByText("back, counted").waitFor();
    }
    await press("People");
    await page.getByRole("heading", { name: "1 of 24 out" }).waitFor();
    await person("Hind").getByText("back", { exact: false }).first().waitFor();
  });

  it("raises an alert for a person in no boat who is overdue, and ends it when they are counted back", async () => {
    const backBy = async (time: string) => {
      await press("Session");
      await page.getByLabel("Everyone back by").fill(time);
      await press("Save");
      await press("People");
    };
    const now = await page.evaluate(() => new Date(Date.now() - 300_000).toTimeString().slice(0, 5));
    await backBy(now);
    await person("Ada").getByRole("button", { name: "Missing" }).click();
    const watch = await page.context().newPage();
    await watch.goto(program.base);
    // Boat 08 is out too: her own alert tells of those in her.
    const card = watch.locator("article.card").filter({ hasText: "Not back yet" });
    await card.waitFor();
    expect(await card.locator(".id").allInnerTexts()).toEqual(["Ada"]);
    expect(await card.innerText()).toContain(`expected at ${now}`);
    expect(await card.innerText()).toContain("Warning");
    expect(await axe(watch)).toEqual([]);
    await card.getByRole("button", { name: "Seen" }).click();
    await card.getByText("seen by Robin", { exact: false }).waitFor();
    await person("Ada").getByRole("button", { name: "Back", exact: true }).click();
    await card.waitFor({ state: "detached" });
    await watch.getByRole("button", { name: "Menu" }).click();
    await watch.getByRole("button", { name: "Log of the day" }).click();
    const over = watch.locator("li").filter({ hasText: "person overdue over: counted back" });
    expect(await over.locator(".id").innerText()).toBe("Ada");
    await watch.close();
    await backBy("23:30");
  }, 60_000);

  it("closes over one still out only for a reason, with a name", async () => {
    await press("Session");
    await page.getByText("1 boat and 1 person are still out or not counted", { exact: false }).waitFor();
    await page.getByLabel("Close all the same, because").fill("08 was fetched by road, Hugo is with her");
    await press("Close the session");
    await page.getByText("Closed by Robin", { exact: false }).waitFor();
    await page.getByText("in spite of people out: 08 was fetched by road", { exact: false }).waitFor();
  });

  it("sees every boat washed down, and a defect mended", async () => {
    await press("After sailing");
    for (const id of [...SAFETY, ...DINGHIES]) {
      const items = boat(id).getByRole("checkbox");
      const count = await items.count();
      expect(count).toBeGreaterThan(0);
      for (let n = 0; n < count; n += 1) await items.nth(n).check();
      await boat(id).getByText(`${count} of ${count} checked`).waitFor();
    }
    await page
      .locator(".defect", { hasText: "rudder pintle bent" })
      .getByRole("button", { name: "Mended" })
      .click();
    await page.getByText("mended by Robin", { exact: false }).waitFor();
    expect(await axe(page)).toEqual([]);
  });

  it("has all of it in the day's log", async () => {
    const log = await page.evaluate(async () => (await fetch("/api/export/today/log.csv")).text());
    for (const said of [/spare rudder fitted/, /Zofia/, /08 was fetched by road/, /rudder pintle bent/])
      expect(log).toMatch(said);
  });

  it("makes a boat's code as a QR code, shown once", async () => {
    await press("Who may join");
    await press("Code for boat 07");
    await page.getByRole("dialog").getByRole("img").waitFor();
    expect(await page.getByRole("dialog").innerText()).toContain("phone.html#key=");
    expect(await axe(page)).toEqual([]);
  });

  it("can be left, and then lets nobody in", async () => {
    await page.getByRole("dialog").getByRole("button", { name: "Close" }).click();
    await press("Menu");
    await press("Leave this tablet");
    await page.getByRole("heading", { name: "Join the watch" }).waitFor();
  });
});
