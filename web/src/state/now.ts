/** The time on the screens, by this tablet's clock; flows let it tick each second. */
import { signal } from "@preact/signals";

export const nowMs = signal(0);
