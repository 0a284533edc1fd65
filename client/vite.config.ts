import { createHash } from "node:crypto";
import { readdirSync, readFileSync, statSync, writeFileSync } from "node:fs";
import { join, relative } from "node:path";
import { brotliCompressSync, constants, gzipSync } from "node:zlib";
import { svelte } from "@sveltejs/vite-plugin-svelte";
import type { Plugin } from "vite";
import { defineConfig } from "vitest/config";

/** Every file under `folder`, in a fixed order. */
function filesUnder(folder: string): string[] {
  return readdirSync(folder)
    .sort()
    .flatMap((name) => {
      const path = join(folder, name);
      return statSync(path).isDirectory() ? filesUnder(path) : [path];
    });
}

/**
 * Writes the list of files and a version made of their contents into the service worker, then
 * compresses every text file once, so that the server only has to send bytes.
 */
function offlineAndCompressed(): Plugin {
  return {
    name: "offline-and-compressed",
    apply: "build",
    writeBundle() {
      const out = join(import.meta.dirname, "dist");
      const worker = join(out, "sw.js");
      const kept = filesUnder(out).filter((path) => path !== worker && !/\.(br|gz)$/.test(path));
      const hash = createHash("sha256");
      for (const path of kept) hash.update(relative(out, path)).update(readFileSync(path));
      const list = kept.map((path) => `/${relative(out, path)}`);
      writeFileSync(
        worker,
        readFileSync(worker, "utf8")
          .replace('"@VERSION@"', JSON.stringify(hash.digest("hex").slice(0, 16)))
          .replace('["@FILES@"]', JSON.stringify(list)),
      );
      for (const path of [...kept, worker]) {
        if (!/\.(html|js|css|svg|json|webmanifest)$/.test(path)) continue;
        const body = readFileSync(path);
        const params = {
          [constants.BROTLI_PARAM_QUALITY]: 11,
          [constants.BROTLI_PARAM_SIZE_HINT]: body.length,
        };
        writeFileSync(`${path}.br`, brotliCompressSync(body, { params }));
        // Browsers take brotli over TLS only; a plain page on a local network gets this one.
        writeFileSync(`${path}.gz`, gzipSync(body, { level: 9 }));
      }
    },
  };
}

export default defineConfig({
  plugins: [svelte(), offlineAndCompressed()],
  // The server's content rules allow no code inside the page, so nothing may be inlined.
  build: {
    target: "es2022",
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    rolldownOptions: {
      input: {
        tablet: join(import.meta.dirname, "index.html"),
        phone: join(import.meta.dirname, "phone.html"),
      },
    },
  },
  test: { include: ["src/**/*.test.ts", "dev/**/*.test.ts"], environment: "node" },
});
