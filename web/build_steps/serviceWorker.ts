/**
 * Vite plug-in: builds the service worker after the client, telling it which files were built.
 *
 * The worker's source sees two constants: `__APP_FILES__` (string[], addresses to keep for offline
 * use, "/" for the page itself) and `__APP_VERSION__` (16 hex digits over all those files).
 */
import { createHash } from "node:crypto";
import { readFileSync, readdirSync } from "node:fs";
import { join, relative, sep } from "node:path";

import { build, type Plugin } from "vite";

const WORKER_FILE = "sw.js";

export function serviceWorker(entry: string): Plugin {
  let folder = "";
  return {
    name: "service-worker",
    apply: "build",
    configResolved(config) {
      folder = config.build.outDir;
    },
    async writeBundle() {
      const files = builtFiles(folder);
      await build({
        configFile: false,
        publicDir: false,
        logLevel: "warn",
        define: {
          __APP_FILES__: JSON.stringify(files.map(addressOf)),
          __APP_VERSION__: JSON.stringify(versionOf(folder, files)),
        },
        build: {
          outDir: folder,
          emptyOutDir: false,
          target: "es2022",
          lib: { entry, formats: ["iife"], name: "worker", fileName: () => WORKER_FILE },
        },
      });
    },
  };
}

function builtFiles(folder: string): string[] {
  return readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) => relative(folder, join(entry.parentPath, entry.name)).split(sep).join("/"))
    .filter((file) => file !== WORKER_FILE)
    .toSorted();
}

function addressOf(file: string): string {
  return file === "index.html" ? "/" : `/${file}`;
}

function versionOf(folder: string, files: string[]): string {
  const hash = createHash("sha256");
  for (const file of files) {
    hash.update(`${file}\0`);
    hash.update(readFileSync(join(folder, file)));
  }
  return hash.digest("hex").slice(0, 16);
}
