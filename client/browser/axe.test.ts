// Every screen and state against WCAG 2.2 AA, on a tablet in sunlight and on a phone at night.
import { beforeAll, describe, expect, it } from "vitest";
import { afloat } from "./afloat.ts";
import { CREW_LIST } from "./fleet.ts";
import { SCREENS, sendAll } from "./screens.ts";
import { axe, SIZES } from "./tablet.ts";

const { tablet } = afloat();

/** The phone's page has tests of its own; a cut link complains of nothing but cannot be waited for cheaply. */
const screens = SCREENS.filter(
  ({ world, name }) =>
    (world === "quiet" || world === "busy") && !name.startsWith("phone") && name !== "cautions-first",
);

let session = "none";

beforeAll(async () => {
  const one = await tablet();
  const plan = { title: "Tuesday beginners", staff: ["Mara"], back_by_ms: null, tides: [] };
  await sendAll(one, [
    { kind: "day", change: { what: "session", ...plan, water_c: 13, wind_limit_kn: 16 } },
    { kind: "day", change: { what: "add_people", text: CREW_LIST } },
    { kind: "day", change: { what: "items", check_items: ["Bungs in"], after_items: ["Drained"] } },
    { kind: "day", change: { what: "defect", boat: 8, text: "rudder pintle bent", safety: true } },
    { kind: "mark", boat: 6, mark: "capsized" },
    { kind: "mark", boat: 2, mark: "needs_help" },
  ]);
  const found = await one.page.evaluate(async () => {
    const { alerts, day } = await (await fetch("/api/snapshot")).json();
    const capsize = alerts.find(({ boat }: { boat: number }) => boat === 6);
    return { alert: capsize.id as number, session: String(day.session.id) };
  });
  await sendAll(one, [
    { kind: "attend", alert: found.alert, boat: 12 },
    { kind: "heads", alert: found.alert, counted: 1 },
  ]);
  session = found.session;
});

describe("axe finds nothing", () => {
  it.each(screens.map((shot) => [shot.name, shot] as const))("on %s", async (_, shot) => {
    const one = await tablet({
      path: shot.path ?? "/",
      choices: { ownBoat: "S1", ...shot.choices },
      session,
      ...(shot.cautions === undefined ? {} : { cautions: shot.cautions }),
    });
    await one.page.waitForTimeout(300);
    await shot.steps?.(one);
    expect(await axe(one.page), "in sunlight").toEqual([]);
    const [width, height] = SIZES.phone;
    await one.page.setViewportSize({ width, height });
    await one.page.evaluate(() => {
      document.documentElement.dataset.theme = "night";
    });
    await one.page.waitForTimeout(200);
    expect(await axe(one.page), "on a phone at night").toEqual([]);
  });
});
