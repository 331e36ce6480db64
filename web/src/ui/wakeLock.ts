/** Keeps the screen awake while a case is open; where the device cannot, nothing changes but that. */

let lock: WakeLockSentinel | null = null;
let wanted = false;

export function keepAwake(): void {
  wanted = true;
  void request();
}

export function letSleep(): void {
  wanted = false;
  void lock?.release();
  lock = null;
}

/** The browser drops the lock whenever the page is hidden: ask again when it is seen. Called once at start. */
export function followVisibility(): void {
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible" && wanted) void request();
  });
}

async function request(): Promise<void> {
  if (!("wakeLock" in navigator) || document.visibilityState !== "visible") return;
  try {
    lock = await navigator.wakeLock.request("screen");
  } catch {
    // Refused on low battery or by policy; recording does not depend on it.
  }
}
