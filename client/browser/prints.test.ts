// What comes out of the printer: the list ashore, the report of an incident, the log.
import { writeFileSync } from "node:fs";
import type { Page } from "playwright-core";
import { describe, expect, it } from "vitest";
import type { Snapshot } from "../src/wire/Snapshot.ts";
import { afloat } from "./afloat.ts";
import { CREW_LIST } from "./fleet.ts";
import { sendAll } from "./screens.ts";
import { markByHand } from "./tablet.ts";

const { tablet } = afloat();

/** The session that the first test to need it opened, with everyone in their boats. */
let session: string | null = null;

async function sessionOf(): Promise<string> {
  if (session !== null) return session;
  const one = await tablet();
  const plan = { title: "Tuesday beginners", staff: ["Mara"], back_by_ms: null, tides: [] };
  await sendAll(one, [
    { kind: "day", change: { what: "session", ...plan, water_c: 13, wind_limit_kn: 16 } },
    { kind: "day", change: { what: "add_people", text: CREW_LIST } },
  ]);
  session = await one.page.evaluate(async () => {
    const { day } = (await (await fetch("/api/snapshot")).json()) as Snapshot;
    return String(day.session?.id);
  });
  return session;
}

/** A page printed; `DUNLIN_PRINTS` names a folder to look at them in. */
async function printed(page: Page, name: string): Promise<{ pages: number; bytes: number }> {
  const pdf = await page.pdf({ format: "A4" });
  const folder = process.env.DUNLIN_PRINTS;
  if (folder !== undefined) writeFileSync(`${folder}/${name}.pdf`, pdf);
  return { pages: pdf.toString("latin1").match(/\/Type\s*\/Page\b/g)?.length ?? 0, bytes: pdf.length };
}

/** What is wrong with the page as it would be printed: cut off, not black on white, or a button. */
async function faultsOnPaper(page: Page): Promise<string[]> {
  await page.emulateMedia({ media: "print" });
  const faults = await page.evaluate(() => {
    const found: string[] = [];
    const words = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let node = words.nextNode(); node !== null; node = words.nextNode()) {
      const holder = node.parentElement;
      const text = node.textContent?.trim() ?? "";
      if (holder === null || text === "" || !holder.checkVisibility()) continue;
      if (holder.closest(".hidden-words, svg, option, select") !== null) continue;
      const [r = 0, g = 0, b = 0] =
        getComputedStyle(holder)
          .color.match(/[\d.]+/g)
          ?.map(Number) ?? [];
      // Grounds are not printed, so every word must be dark by itself.
      if (0.2126 * r + 0.7152 * g + 0.0722 * b > 110) found.push(`pale: ${text}`);
      if (holder.closest("button") !== null) found.push(`a button: ${text}`);
    }
    for (const each of document.querySelectorAll("*")) {
      const { overflowY } = getComputedStyle(each);
      if (overflowY !== "visible" && each.scrollHeight > each.clientHeight + 2 && each.checkVisibility())
        if (!each.matches(".hidden-words")) found.push(`cut off: ${each.tagName} ${each.className}`);
    }
    return found;
  });
  await page.emulateMedia({ media: null });
  return faults;
}

describe("prints", () => {
  it.each(["sun", "night"] as const)(
    "the list ashore, whole and dark on white, from the %s theme",
    async (theme) => {
      const one = await tablet({
        path: "/ashore",
        session: await sessionOf(),
        choices: { ownBoat: "S1", theme },
      });
      await one.page.getByRole("rowheader", { name: "Ada" }).waitFor();
      expect(await faultsOnPaper(one.page)).toEqual([]);
      const rows = await one.page.locator("tbody tr").count();
      expect(rows).toBeGreaterThanOrEqual(28); // 14 persons and 14 boats.
      const { pages, bytes } = await printed(one.page, `ashore-${theme}`);
      expect(pages).toBeGreaterThanOrEqual(1);
      expect(pages).toBeLessThanOrEqual(4);
      expect(bytes).toBeGreaterThan(10_000);
    },
  );

  it("the report of an incident, alone on its pages", async () => {
    const one = await tablet({ session: await sessionOf() });
    await markByHand(one.page, "07", "Capsized");
    await one.page.getByText("Robin says: capsized").first().waitFor({ state: "attached" });
    await one.page.goto(new URL("/day", one.page.url()).href);
    await one.page.getByRole("button", { name: "After sailing" }).click();
    const select = one.page.getByLabel("Report of an incident");
    const value = await select
      .locator("option", { hasText: /:\d\d\s+07\s/ })
      .first()
      .getAttribute("value");
    await select.selectOption(value ?? "");
    await one.page.locator("article").getByText("Robin says: capsized").first().waitFor();
    expect(await faultsOnPaper(one.page)).toEqual([]);
    await one.page.emulateMedia({ media: "print" });
    const seen = await one.page.locator("body").innerText();
    expect(seen).toContain("Possible capsize");
    expect(seen).toContain("capsize, alarm: Robin says: capsized");
    expect(seen).not.toContain("Defects and damage");
    await one.page.emulateMedia({ media: null });
    const { pages } = await printed(one.page, "report");
    expect(pages).toBeGreaterThanOrEqual(1);
    expect(pages).toBeLessThanOrEqual(2);
  });

  it("the log of the day, whole and without the chart", async () => {
    const one = await tablet({ session: await sessionOf(), choices: { ownBoat: "S1", theme: "dusk" } });
    await one.page.getByRole("button", { name: "Menu", exact: true }).click();
    await one.page.getByRole("button", { name: "Log of the day" }).click();
    await one.page.getByText("01 is afloat").first().waitFor();
    expect(await faultsOnPaper(one.page)).toEqual([]);
    await one.page.emulateMedia({ media: "print" });
    expect(await one.page.locator(".chart").isVisible()).toBe(false);
    await one.page.emulateMedia({ media: null });
    const { pages } = await printed(one.page, "log");
    expect(pages).toBeGreaterThanOrEqual(1);
  });
});
