/** Builds the web client into dist/, with its service worker, and sets up the unit tests. */
import { defineConfig } from "vitest/config";

import { serviceWorker } from "./build_steps/serviceWorker.ts";

export default defineConfig({
  plugins: [serviceWorker("src/sw/index.ts")],
  build: {
    outDir: "dist",
    emptyOutDir: true,
    target: "es2022",
    // Nothing inline: the content security policy allows only files of our own origin.
    modulePreload: { polyfill: false },
    assetsInlineLimit: 0,
    sourcemap: false,
  },
  test: { include: ["test/**/*.test.{ts,tsx}"] },
});
