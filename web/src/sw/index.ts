/**
 * Serves the app's files without the network. It never touches the record, and nothing of /api goes through it.
 *
 * A new version is installed whole or not at all, keeps the old one's files until it takes over, and takes over only
 * when the page says "activate", which it does when no case is open.
 */
declare const __APP_FILES__: readonly string[];
declare const __APP_VERSION__: string;

// The library types name the page's or any worker's global scope; this script only ever runs as a service worker.
const worker = globalThis as unknown as ServiceWorkerGlobalScope;

const CACHE_PREFIX = "hubheld-app-";
const CACHE = CACHE_PREFIX + __APP_VERSION__;
const PAGE = "/";

worker.addEventListener("install", (event) => event.waitUntil(keepAll()));
worker.addEventListener("activate", (event) => event.waitUntil(takeOver()));
worker.addEventListener("message", (event) => {
  if (event.data === "activate") event.waitUntil(worker.skipWaiting());
});
worker.addEventListener("fetch", (event) => {
  const file = fileOf(event.request);
  if (file !== null) event.respondWith(answer(event.request, file));
});

async function keepAll(): Promise<void> {
  const cache = await caches.open(CACHE);
  await Promise.all(
    __APP_FILES__.map(async (file) => {
      // Hashed names never change; all else must come from the server, not from a cache between.
      const from = file.startsWith("/assets/") ? "default" : "reload";
      const response = await fetch(new Request(file, { cache: from, credentials: "same-origin" }));
      if (!isOurs(file, response)) throw new Error(`${file}: found another answer, expected the file itself`);
      await cache.put(file, response);
    }),
  );
}

/** A login page that answers with 200 for every address must not become the app. */
function isOurs(file: string, response: Response): boolean {
  const isPage = (response.headers.get("Content-Type") ?? "").startsWith("text/html");
  return response.ok && !response.redirected && isPage === (file === PAGE || file.endsWith(".html"));
}

async function takeOver(): Promise<void> {
  for (const name of await caches.keys()) {
    if (name.startsWith(CACHE_PREFIX) && name !== CACHE) await caches.delete(name);
  }
  await worker.clients.claim();
}

/** The kept file that answers a request; null where the network answers. */
function fileOf(request: Request): string | null {
  const { origin, pathname } = new URL(request.url);
  if (request.method !== "GET" || origin !== worker.location.origin || pathname.startsWith("/api/"))
    return null;
  if (__APP_FILES__.includes(pathname)) return pathname;
  return request.mode === "navigate" ? PAGE : null;
}

async function answer(request: Request, file: string): Promise<Response> {
  const cache = await caches.open(CACHE);
  return (await cache.match(file)) ?? fetch(request);
}
