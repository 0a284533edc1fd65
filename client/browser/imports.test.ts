// Sites out of other programs' files, and back out again: every shape is kept.
import { readFileSync } from "node:fs";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type Centre, place, site, startCentre } from "./centre.ts";
import { startBrowser } from "./tablet.ts";

type At = readonly [northM: number, eastM: number];
type Ring = readonly At[];

/** Shapes in metres from the middle of the water. */
const BAY: Ring = [
  [-400, -400],
  [-400, 400],
  [400, 400],
  [400, -400],
];
const ISLAND: Ring = [
  [-50, -50],
  [50, -50],
  [50, 50],
  [-50, 50],
];
const WEST: Ring = [
  [-100, -900],
  [-100, -700],
  [100, -700],
];
const EAST: Ring = [
  [-100, 700],
  [-100, 900],
  [100, 900],
];
const NORTH: Ring = [
  [600, -100],
  [600, 100],
  [700, 100],
];
const WALKED: Ring = [
  [-700, -50],
  [-700, 50],
  [-650, 50],
  [-650, -50],
];

const lonLat = ([northM, eastM]: At) => {
  const { latitude, longitude } = place(northM, eastM);
  return [longitude.toFixed(7), latitude.toFixed(7)] as const;
};
const closed = (ring: Ring) => [...ring, ...ring.slice(0, 1)];

const kmlRing = (ring: Ring) =>
  `<LinearRing><coordinates>${closed(ring)
    .map((at) => lonLat(at).join(","))
    .join(" ")}</coordinates></LinearRing>`;
const kmlArea = (outer: Ring, hole?: Ring) =>
  `<Polygon><outerBoundaryIs>${kmlRing(outer)}</outerBoundaryIs>${
    hole === undefined ? "" : `<innerBoundaryIs>${kmlRing(hole)}</innerBoundaryIs>`
  }</Polygon>`;

// Elements and their order as in the OGC's KML 2.2 (07-147r2).
const KML = `<?xml version="1.0" encoding="UTF-8"?>
<kml xmlns="http://www.opengis.net/kml/2.2"><Document>
<Placemark><name>Bay</name>${kmlArea(BAY, ISLAND)}</Placemark>
<Folder><Placemark><name>Both sides</name><MultiGeometry>${kmlArea(WEST)}${kmlArea(EAST)}</MultiGeometry></Placemark></Folder>
<Placemark><name>Red</name><Point><coordinates>${lonLat([300, 0]).join(",")},0</coordinates></Point></Placemark>
<Placemark><name>Together</name><MultiGeometry>${kmlArea(NORTH)}<Point><coordinates>${lonLat([650, 0]).join(",")}</coordinates></Point></MultiGeometry></Placemark>
</Document></kml>`;

const gpxPoints = (name: string, ring: Ring) =>
  ring
    .map((at) => {
      const [lon, lat] = lonLat(at);
      return `<${name} lat="${lat}" lon="${lon}"/>`;
    })
    .join("");

const GPX = `<?xml version="1.0"?><gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">
<wpt lat="${lonLat([-300, 0])[1]}" lon="${lonLat([-300, 0])[0]}"><name>Blue</name></wpt>
<trk><name>Slip</name><trkseg>${gpxPoints("trkpt", closed(WALKED))}</trkseg></trk>
</gpx>`;

interface Feature {
  properties: { kind: string; name: string };
  geometry: { type: string; coordinates: unknown };
}

let browser: Browser;
let centre: Centre;
let page: Page;

beforeAll(async () => {
  browser = await startBrowser();
  centre = await startCentre(browser, '[[boat]]\nid = "07"\ncrew = 2\n', site());
  page = await centre.open("/day");
  await page.getByRole("button", { name: "Site and fleet" }).click();
});

afterAll(async () => {
  await browser.close();
  await centre.close();
});

async function features(): Promise<Feature[]> {
  return (JSON.parse(await centre.ask("GET", "/api/site")) as { features: Feature[] }).features;
}

async function read(name: string, text: string): Promise<void> {
  await page.locator('input[type="file"]').setInputFiles({
    name,
    mimeType: "application/octet-stream",
    buffer: Buffer.from(text),
  });
  await page.getByText("Not in force yet.").waitFor();
  await page.getByRole("button", { name: "Put this site in force" }).click();
  await page.getByText("In force.", { exact: true }).waitFor();
}

/** Corners of a ring without the repeated one, in an order of no matter. */
function corners(ring: unknown): string[] {
  const all = (ring as [number, number][]).map(([lon, lat]) => `${lon.toFixed(5)} ${lat.toFixed(5)}`);
  return [...new Set(all)].sort();
}
const wanted = (ring: Ring) =>
  ring
    .map((at) => {
      const [lon, lat] = lonLat(at);
      return `${Number(lon).toFixed(5)} ${Number(lat).toFixed(5)}`;
    })
    .sort();

function named(all: readonly Feature[], name: string): Feature {
  const found = all.filter((feature) => feature.properties.name === name);
  expect(found.length, name).toBe(1);
  return found[0] as Feature;
}

describe("a site out of other programs' files", () => {
  it("keeps an area with its hole, an area in two parts, and a mark of a KML file", async () => {
    await page.getByLabel("Read lines and points as").selectOption("no-go");
    await read("bay.kml", KML);
    const all = await features();
    const bay = named(all, "Bay");
    expect([bay.geometry.type, bay.properties.kind]).toEqual(["Polygon", "no-go"]);
    const [outer, hole] = bay.geometry.coordinates as unknown[];
    expect(corners(outer)).toEqual(wanted(BAY));
    expect(corners(hole)).toEqual(wanted(ISLAND));
    const both = named(all, "Both sides");
    expect(both.geometry.type).toBe("MultiPolygon");
    const parts = both.geometry.coordinates as unknown[][];
    expect(parts.map(([ring]) => corners(ring))).toEqual([wanted(WEST), wanted(EAST)]);
    expect(named(all, "Red").geometry.type).toBe("Point");
    const together = all.filter(({ properties }) => properties.name === "Together");
    expect(together.map(({ geometry }) => geometry.type).sort()).toEqual(["Point", "Polygon"]);
  });

  it("makes an area of a walked line that ends where it began, and a mark of a waypoint, out of GPX", async () => {
    await page.getByLabel("Read lines and points as").selectOption("landing");
    await read("slip.gpx", GPX);
    const all = await features();
    const slip = named(all, "Slip");
    expect([slip.geometry.type, slip.properties.kind]).toEqual(["Polygon", "landing"]);
    const [ring] = slip.geometry.coordinates as unknown[][];
    expect(corners(ring)).toEqual(wanted(WALKED));
    expect(ring?.length, "closed once").toBe(WALKED.length + 1);
    expect(named(all, "Blue").properties.kind).toBe("mark");
    expect(all.length).toBe(8);
  });

  it("writes a file that holds the same shapes when it is read again", async () => {
    const before = await features();
    const section = page.locator("section, div, form").filter({ hasText: "Put this site in force" });
    const [download] = await Promise.all([
      page.waitForEvent("download"),
      section.last().getByRole("button", { name: "Save as a file" }).first().click(),
    ]);
    expect(download.suggestedFilename()).toBe("site.geojson");
    await centre.ask("PUT", "/api/site", readFileSync(await download.path(), "utf8"));
    const after = await features();
    const flat = (all: readonly Feature[]) =>
      all.map(({ properties, geometry }) => ({
        properties,
        type: geometry.type,
        places: JSON.stringify(geometry.coordinates)
          .match(/-?\d+\.?\d*/g)
          ?.map((figure) => Number(figure).toFixed(6))
          .sort(),
      }));
    const byName = (a: ReturnType<typeof flat>[number], b: ReturnType<typeof flat>[number]) =>
      `${a.properties.name} ${a.type}`.localeCompare(`${b.properties.name} ${b.type}`);
    expect(flat(after).sort(byName)).toEqual(flat(before).sort(byName));
  });
});
