// Draws the app's icons from `public/icon.svg`: `node browser/run.mjs icons`. They are kept in the
// repository, since building the pages must not need a browser.
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { startBrowser } from "./tablet.ts";

const PUBLIC = join(import.meta.dirname, "../public");
/** The ground of the icon, which runs to the edge where the system cuts its own shape. */
const GROUND = "#0b2033";
/** Of a maskable icon only the middle circle of 80 % is sure to be seen (W3C, Web App Manifest). */
const SAFE = 0.72;

async function main(): Promise<void> {
  const svg = readFileSync(join(PUBLIC, "icon.svg"), "utf8");
  const browser = await startBrowser();
  const page = await browser.newPage();
  for (const { name, size, isMaskable } of [
    { name: "icon-192.png", size: 192, isMaskable: false },
    { name: "icon-512.png", size: 512, isMaskable: false },
    { name: "icon-maskable-512.png", size: 512, isMaskable: true },
  ]) {
    const inner = isMaskable ? size * SAFE : size;
    await page.setViewportSize({ width: size, height: size });
    await page.setContent(
      `<style>html,body{margin:0;height:100%}body{display:grid;place-items:center;background:${isMaskable ? GROUND : "transparent"}}` +
        `svg{width:${inner}px;height:${inner}px}</style>${svg}`,
    );
    writeFileSync(join(PUBLIC, name), await page.screenshot({ omitBackground: true }));
  }
  await browser.close();
}

await main();
