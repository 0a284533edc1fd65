import { describe, expect, it } from "vitest";
import { afloat, allClear, cardOf } from "./afloat.ts";
import { axe, markByHand, spokenBy, type Tablet } from "./tablet.ts";

const { tablet } = afloat();

describe("the watch screen", () => {
  it("shows who is out, the wind, and that it watches", async () => {
    const { page } = await tablet();
    await page.getByText("Watching", { exact: true }).waitFor();
    await page.locator(".tally", { hasText: /Out: \d+ boats, \d+ persons/ }).waitFor();
    await page.locator("button.wind", { hasText: /\d{3}°/ }).waitFor();
    expect(await page.locator(".boat-canvas").count()).toBe(1);
  });

  it("asks for the cautions to be read when a session begins, and for the boat we are in", async () => {
    const { page } = await tablet({ cautions: true, choices: {} });
    await page.getByText("Not a lifesaving appliance", { exact: false }).waitFor();
    await page.getByText("S2", { exact: false }).first().click();
    await page.getByRole("button", { name: "Understood" }).click();
    await page.getByRole("button", { name: "Us", exact: true }).waitFor();
    await page.getByRole("button", { name: "Limits" }).click();
    await page.getByText("Not a lifesaving appliance", { exact: false }).waitFor();
  });

  it("reaches any boat in two touches", async () => {
    const { page } = await tablet();
    await page.getByRole("button", { name: "Boats", exact: true }).click();
    await page.locator("main li button").first().click();
    await page.getByText("Last heard").waitFor();
    await page.locator(".plot canvas").waitFor();
  });
});

describe("two tablets and a phone-sized one", () => {
  it("agree on a hand mark, who has seen it, who goes, and its end", async () => {
    const [one, two, three] = [
      await tablet(),
      await tablet({ choices: { ownBoat: "S2" } }),
      await tablet({ size: "phone" }),
    ];
    await markByHand(one.page, "03", "Needs help");
    await Promise.all([cardOf(two, "03").waitFor(), cardOf(three, "03").waitFor()]);
    await cardOf(two, "03").getByRole("button", { name: "Seen", exact: true }).click();
    await one.page.getByRole("button", { name: /Back/ }).click();
    await cardOf(one, "03").getByText("seen by").waitFor();
    await cardOf(two, "03").getByRole("button", { name: "I'm going" }).click();
    await cardOf(one, "03")
      .getByText(/S2 is going/)
      .waitFor();
    await cardOf(three, "03")
      .getByText(/S2 is going/)
      .waitFor();
    // The other boat takes it over: the hand-over is seen on all.
    await two.page.getByRole("button", { name: "Hand over" }).click();
    await two.page.getByRole("dialog").getByRole("button", { name: /^S1/ }).click();
    await cardOf(one, "03").getByText("We are going").waitFor();
    await allClear(one, "03");
    await cardOf(three, "03").waitFor({ state: "detached" });
  });

  it("takes a mark back", async () => {
    const one = await tablet();
    await markByHand(one.page, "09", "Person overboard");
    const undo = one.page.getByRole("button", { name: "Undo" });
    await undo.waitFor();
    await one.page.getByRole("button", { name: /Back/ }).click();
    await cardOf(one, "09").waitFor();
    await undo.click();
    await cardOf(one, "09").waitFor({ state: "detached" });
  });
});

describe("a rescue", () => {
  it("counts heads, keeps time and writes down what was done", async () => {
    const one = await tablet();
    await markByHand(one.page, "06", "Capsized");
    await one.page.getByRole("button", { name: /Back/ }).click();
    await cardOf(one, "06").getByRole("button", { name: "I'm going" }).click();
    await one.page.getByText("How many heads do you see?").waitFor();
    expect(await one.page.locator(".timer b").innerText()).toMatch(/^\d+:\d\d$/);
    await one.page.locator(".counts button", { hasText: /^0$/ }).click();
    await one.page.getByText(/HEADS? MISSING/).waitFor();
    await one.page.getByRole("button", { name: "Boat righted" }).click();
    await one.page.locator(".rescue li", { hasText: "Boat righted" }).waitFor();
    await one.page.getByRole("button", { name: "Count again" }).click();
    await one.page.locator(".counts button.main").click();
    await one.page.getByText(/^\d+ of \d+ heads counted$/).waitFor();
    await one.page.getByRole("button", { name: /Back/ }).click();
    await allClear(one, "06");
  });
});

describe("press and slide", () => {
  const handle = ({ page }: Tablet, name: string) =>
    page.getByRole("button", { name: new RegExp(`^${name}`) });

  async function slide(one: Tablet, name: string, share: number): Promise<void> {
    const box = await handle(one, name).boundingBox();
    if (box === null) throw new Error("the handle is not on the screen");
    const track = await one.page.locator(".slide", { has: handle(one, name) }).boundingBox();
    const way = ((track?.width ?? 0) - box.width) * share;
    await one.page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
    await one.page.mouse.down();
    await one.page.mouse.move(box.x + box.width / 2 + way, box.y + box.height / 2, { steps: 8 });
    await one.page.mouse.up();
  }

  it("calls everyone in, but not by half a slide, and can be taken down", async () => {
    const one = await tablet();
    await slide(one, "Call everyone in", 0.5);
    await one.page.waitForTimeout(600);
    expect(await one.page.getByText("Everyone is called in").count()).toBe(0);
    await slide(one, "Call everyone in", 1);
    await one.page.getByText("Everyone is called in").waitFor();
    await one.page.getByRole("button", { name: "Take down" }).click();
    await one.page.getByText("Everyone is called in").waitFor({ state: "detached" });
  });

  it("works without dragging, by a touch and a second button", async () => {
    const one = await tablet();
    await handle(one, "Person overboard").click();
    await one.page.getByRole("button", { name: "Person overboard Yes, now" }).click();
    await one.page.getByRole("dialog").getByRole("button", { name: "08", exact: true }).click();
    await cardOf(one, "08").waitFor();
    await one.page.getByRole("button", { name: "Undo" }).click();
    await cardOf(one, "08").waitFor({ state: "detached" });
  });

  it("works by keyboard", async () => {
    const one = await tablet();
    await handle(one, "Call everyone in").focus();
    await one.page.keyboard.press("Enter");
    await one.page.getByRole("button", { name: "Call everyone in Yes, now" }).press("Enter");
    await one.page.getByRole("button", { name: "Take down" }).click();
  });
});

describe("the link", () => {
  it("turns the whole screen into not watching, and back", async () => {
    const one = await tablet();
    one.wire.cut = true;
    await one.page
      .getByRole("heading", { name: /^Not watching since \d\d:\d\d:\d\d$/ })
      .waitFor({ timeout: 40_000 });
    expect(await one.page.locator(".page").getAttribute("data-sound")).not.toBeNull();
    one.wire.cut = false;
    await one.page
      .getByRole("heading", { name: /^Not watching/ })
      .waitFor({ state: "detached", timeout: 30_000 });
  });

  it("refuses actions without a link, in words", async () => {
    const one = await tablet();
    one.wire.cut = true;
    await one.page.getByRole("heading", { name: /^Not watching/ }).waitFor({ timeout: 40_000 });
    await one.page.getByRole("button", { name: "Boats", exact: true }).click();
    await one.page.locator("main li button").nth(3).click();
    await one.page.getByRole("button", { name: "Fine", exact: true }).click();
    await one.page.getByText("Not sent: there is no link", { exact: false }).waitFor();
  });

  it("shows after a reload what the others show", async () => {
    const [one, two] = [await tablet(), await tablet()];
    await markByHand(one.page, "11", "Needs help");
    await cardOf(two, "11").waitFor();
    await two.page.reload();
    await cardOf(two, "11").waitFor();
    await allClear(two, "11");
  });
});

describe("sound", () => {
  it("says loudly that there is none, until a touch", async () => {
    const { page } = await tablet();
    await page.getByText("NO SOUND", { exact: true }).waitFor();
    expect(await page.locator(".page").getAttribute("data-sound-ready")).toBe("false");
    await page.getByText("NO SOUND", { exact: true }).click();
    await page.locator('.page[data-sound-ready="true"]').waitFor();
    await page.getByText("NO SOUND", { exact: true }).waitFor({ state: "detached" });
  });

  it("sounds and speaks until somebody has seen it, and is silent for 30 s when told", async () => {
    const one = await tablet();
    const page = one.page;
    await page.getByText("NO SOUND", { exact: true }).click();
    await markByHand(page, "07", "Capsized");
    await page.locator('.page:not([data-sound="quiet"])').waitFor();
    await expect
      .poll(async () => (await spokenBy(page)).join("\n"), { timeout: 30_000 })
      .toMatch(/^Seven\. .*capsize/im);
    const bursts = async () => Number(await page.locator(".page").getAttribute("data-bursts"));
    const before = await bursts();
    await page.waitForFunction(
      (least) => Number(document.querySelector(".page")?.getAttribute("data-bursts")) > least,
      before,
    );
    await page.getByRole("button", { name: "Quiet 30 s" }).click();
    await page.locator('.page[data-sound="quiet"]').waitFor();
    await page.getByRole("button", { name: /Back/ }).click();
    await cardOf(one, "07").getByText("sound off").waitFor();
    await cardOf(one, "07").getByRole("button", { name: "Seen", exact: true }).click();
    await allClear(one, "07");
  });
});

describe("choices", () => {
  it("keeps theme, language, text size and hand over a reload", async () => {
    const { page } = await tablet();
    await page.getByRole("button", { name: "Menu", exact: true }).click();
    for (const name of ["Night", "Left", "Large", "Nederlands"])
      await page.getByText(name, { exact: true }).click();
    await page.getByText("Zonlicht", { exact: true }).waitFor();
    await page.reload();
    await page.getByText("Wacht loopt", { exact: true }).waitFor();
    const root = page.locator("html");
    expect(await root.getAttribute("data-theme")).toBe("night");
    expect(await root.getAttribute("lang")).toBe("nl");
    const chart = await page.locator(".chart").boundingBox();
    expect(chart?.x ?? 0).toBeGreaterThan(300);
  });

  it("survives rotation", async () => {
    const { page } = await tablet();
    await page.setViewportSize({ width: 820, height: 1180 });
    await page.waitForTimeout(500);
    const chart = await page.locator(".chart").boundingBox();
    expect(chart?.width).toBe(820);
    const canvas = await page.locator(".boat-canvas").boundingBox();
    expect(canvas?.width).toBe(820);
  });
});

describe("targets afloat", () => {
  it("are at least 48 px, and 64 px for actions", async () => {
    const one = await tablet({ size: "phone" });
    await markByHand(one.page, "10", "Needs help");
    await one.page.getByRole("button", { name: /Back/ }).click();
    await cardOf(one, "10").waitFor();
    const boxes = await one.page.locator("button:visible").evaluateAll((buttons) =>
      buttons.map((button) => {
        const { width, height } = button.getBoundingClientRect();
        return {
          words: button.textContent?.trim() ?? "",
          width,
          height,
          big: button.classList.contains("big"),
        };
      }),
    );
    expect(boxes.length).toBeGreaterThan(8);
    for (const { words, width, height } of boxes) {
      expect(Math.min(width, height), words).toBeGreaterThanOrEqual(47.9);
    }
    for (const name of ["Seen", "I'm going", "All clear"]) {
      const box = boxes.find(({ words }) => words === name);
      expect(box?.height, name).toBeGreaterThanOrEqual(64);
    }
    await allClear(one, "10");
  });
});

describe("accessibility", () => {
  const screens = ["/", "/ashore", "/day", "/feeds"] as const;
  it.each(
    screens.flatMap((path) => (["sun", "dusk", "night"] as const).map((theme) => [path, theme] as const)),
  )("axe finds nothing on %s in %s", async (path, theme) => {
    const { page } = await tablet({ path, choices: { ownBoat: "S1", theme } });
    await page.waitForTimeout(400);
    expect(await axe(page)).toEqual([]);
  });

  it.each(["Boats", "Menu", "Limits"])("axe finds nothing after %s", async (name) => {
    const { page } = await tablet({ size: "phone" });
    await page.getByRole("button", { name, exact: true }).click();
    await page.waitForTimeout(300);
    expect(await axe(page)).toEqual([]);
  });
});
