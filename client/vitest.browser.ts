import { defineConfig } from "vitest/config";

// Tests in a real Chromium against the real program; run by `npm run browser`, apart from the unit tests.
export default defineConfig({
  test: {
    include: ["browser/**/*.test.ts"],
    environment: "node",
    fileParallelism: false,
    testTimeout: 90_000,
    hookTimeout: 90_000,
  },
});
