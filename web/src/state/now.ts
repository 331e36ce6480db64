/** The time on the screens, on the clock that entries carry, so that ages are right; flows let it tick each second. */
import { signal } from "@preact/signals";

export const nowMs = signal(0);
