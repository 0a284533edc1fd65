import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
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

const press = (name: string | RegExp) =>
  page
    .getByRole("button", { name, exact: typeof name === "string" })
    .first()
    .click();

const FLEET = `
[[boat]]
id = "S1"
role = "safety"
crew = 2
source = "phone-s1"

[[boat]]
id = "07"
role = "dinghy"
crew = 3
source = "phone-07"
`;

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

  it("opens a session with people and their boats", async () => {
    await press("Session");
    await page.getByLabel("Title").fill("Tuesday beginners");
    await page.getByLabel("Everyone back by").fill("23:30");
    await press("Open a session");
    // A new session begins with the cautions.
    await press("Understood");
    await page.getByRole("heading", { name: "Tuesday beginners" }).waitFor();
    await press("People");
    await page
      .getByLabel("One a line", { exact: false })
      .fill("Ada;learner;07\nZofia;learner;07\nCleo;staff;S1");
    await press("Add");
    await page.locator("li", { hasText: "Ada" }).waitFor();
    expect(await axe(page)).toEqual([]);
  });

  it("launches, moves a person afloat to another boat, and refuses to close with people out", async () => {
    await press("Launch");
    for (const id of ["S1", "07"]) {
      await page.locator(".boats > li", { hasText: id }).getByRole("button", { name: "Launched" }).click();
      await page.locator(".boats > li", { hasText: id }).getByText("afloat").waitFor();
    }
    await press("People");
    await page.locator("li", { hasText: "Zofia" }).getByLabel("Boat").selectOption({ label: "S1" });
    await press("Session");
    await page.getByText("still out or not counted", { exact: false }).waitFor();
    const close = page.getByRole("button", { name: "Close the session" });
    expect(await close.isDisabled()).toBe(true);
  });

  it("shows them ashore, person by person", async () => {
    await press("Menu");
    await press("Ashore");
    await page.getByRole("rowheader", { name: "Ada" }).waitFor();
    const row = page.getByRole("row", { name: /Zofia/ });
    expect(await row.innerText()).toContain("S1");
    expect(await axe(page)).toEqual([]);
  });

  it("brings them back by hand and closes", async () => {
    await press("Menu");
    await press("The day");
    await press("People");
    for (const name of ["Ada", "Zofia", "Cleo"]) {
      await page.locator("li", { hasText: name }).getByRole("button", { name: "Back", exact: true }).click();
      await page.locator("li", { hasText: name }).getByText("back").first().waitFor();
    }
    await press("Launch");
    for (const id of ["S1", "07"]) {
      await page
        .locator(".boats > li", { hasText: id })
        .getByRole("button", { name: "Back, heads counted" })
        .click();
    }
    await press("Session");
    await press("Close the session");
    await page.getByText("Closed by Robin", { exact: false }).waitFor();
  });

  it("keeps a defect and its mending", async () => {
    await press("After sailing");
    await page.locator("form").getByLabel("Boat").selectOption({ label: "07" });
    await page.getByLabel("What is broken").fill("rudder pintle bent");
    await press("Write down a defect");
    await page
      .locator(".defect", { hasText: "rudder pintle bent" })
      .getByRole("button", { name: "Mended" })
      .click();
    await page.getByText("mended by Robin", { exact: false }).waitFor();
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
