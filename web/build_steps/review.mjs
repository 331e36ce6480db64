/**
 * Starts the command-line judge; builds its bundle first when that is missing or older than its sources.
 *
 * npm runs this in web/, so it goes back to the folder where the command was typed.
 */
import { existsSync, readdirSync, statSync } from "node:fs";
import { join } from "node:path";
import { chdir, env } from "node:process";
import { fileURLToPath, pathToFileURL } from "node:url";

const web = fileURLToPath(new URL("..", import.meta.url));
const bundle = join(web, "dist-review", "review.mjs");
const sources = ["src/core", "src/review", "../shared/protocol", "vite.review.config.ts"];

function newestChangeMs(path) {
  const status = statSync(path);
  if (!status.isDirectory()) return status.mtimeMs;
  const inside = readdirSync(path).map((name) => newestChangeMs(join(path, name)));
  return Math.max(status.mtimeMs, ...inside);
}

function isStale() {
  if (!existsSync(bundle)) return true;
  const builtMs = statSync(bundle).mtimeMs;
  return sources.some((source) => newestChangeMs(join(web, source)) > builtMs);
}

if (isStale()) {
  const { build } = await import("vite");
  const configFile = join(web, "vite.review.config.ts");
  await build({ root: web, configFile, logLevel: "error" });
}
if (env.INIT_CWD) chdir(env.INIT_CWD);
await import(pathToFileURL(bundle).href);
