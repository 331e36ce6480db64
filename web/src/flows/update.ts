/** A newer version of the app: noticed at once, taken over only by hand and only while no case is open. */
import { NotAllowed, RetryLater } from "../core/errors.ts";
import type { Tablet } from "../device/tablet.ts";
import { cases, update } from "../state/index.ts";
import { sessionOrNull } from "./session.ts";
import { isOpen } from "./views.ts";

let followed: Tablet | null = null;

/** Registers the service worker. Without one the app works as before, but only online. */
export async function followUpdates(tablet: Tablet): Promise<void> {
  followed = tablet;
  await tablet.worker?.follow(() => {
    update.value = { waiting: true };
  });
}

/** Lets the waiting version take over and loads the page anew. Raises NotAllowed while a case is open. */
export async function applyUpdate(): Promise<void> {
  if (followed?.worker === null || followed === null)
    throw new RetryLater("There is no newer version to start.");
  await sessionOrNull()?.follow(); // a case may have been opened in another window
  const now_ms = sessionOrNull()?.now_ms() ?? 0;
  if ([...cases.value.values()].some((view) => isOpen(view, now_ms))) {
    throw new NotAllowed("A case is open. The new version waits until it is signed or the patient has left.");
  }
  await followed.worker.activate();
}
