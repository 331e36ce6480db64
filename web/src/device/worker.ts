/** The service worker as the page sees it: registered once, asked to take over only when a person says so. */

export interface Worker {
  /** Registers the worker and calls `waiting` when a newer version is ready to take over. */
  follow(waiting: () => void): Promise<void>;
  /** Lets the newer version take over, and loads the page anew under it. */
  activate(): Promise<void>;
}

const ADDRESS = "/sw.js";
const LOOK_AGAIN_MS = 3_600_000;

/** Null where the browser has no service workers (outside a secure context): the app works, but only online. */
export function browserWorker(): Worker | null {
  if (!("serviceWorker" in navigator)) return null;
  const { serviceWorker } = navigator;
  let registered: ServiceWorkerRegistration | null = null;
  return {
    async follow(waiting) {
      const registration = await serviceWorker.register(workerAddress(), { updateViaCache: "none" });
      registered = registration;
      const look = () => {
        if (registration.waiting !== null && serviceWorker.controller !== null) waiting();
      };
      registration.addEventListener("updatefound", () => {
        registration.installing?.addEventListener("statechange", look);
      });
      setInterval(() => void registration.update().catch(() => undefined), LOOK_AGAIN_MS);
      look();
    },
    activate() {
      return new Promise((resolve) => {
        serviceWorker.addEventListener("controllerchange", () => {
          resolve();
          location.reload();
        });
        registered?.waiting?.postMessage("activate");
      });
    },
  };
}

interface TrustedTypes {
  createPolicy(
    name: string,
    rules: { createScriptURL(address: string): string },
  ): { createScriptURL(address: string): string };
}

/** The content security policy allows scripts by address only through this one policy, for this one address. */
function workerAddress(): string {
  const { trustedTypes } = globalThis as { readonly trustedTypes?: TrustedTypes };
  if (trustedTypes === undefined) return ADDRESS;
  const policy = trustedTypes.createPolicy("app-sw", {
    createScriptURL(address) {
      if (address !== ADDRESS) throw new TypeError(`only ${ADDRESS} may be a worker`);
      return address;
    },
  });
  return policy.createScriptURL(ADDRESS);
}
