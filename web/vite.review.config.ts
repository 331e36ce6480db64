/** Builds the command-line judge into one file that Node 20 runs, dist-review/review.mjs. */
import { defineConfig } from "vite";

export default defineConfig({
  publicDir: false,
  build: {
    ssr: "src/review/main.ts",
    outDir: "dist-review",
    emptyOutDir: true,
    target: "node20",
    minify: false,
    rolldownOptions: { output: { entryFileNames: "review.mjs", codeSplitting: false } },
  },
  ssr: { noExternal: true },
});
