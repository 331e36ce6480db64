/** Who taps on this tablet: a role, kept on the device, that goes into every entry beside who said it. */
import { signal } from "@preact/signals";

import type { Role } from "../core/protocol.ts";

const KEY = "hubheld-recorder";
export const RECORDERS: readonly Role[] = ["circulating", "scrub", "anaesthetist"];

/** The circulating nurse taps unless it is said otherwise. */
export const recorder = signal<Role>("circulating");

export function setRecorder(role: Role): void {
  recorder.value = role;
  try {
    localStorage.setItem(KEY, role);
  } catch {
    // A device that keeps no settings begins with the circulating nurse again: the page says who it is.
  }
}

/** Called once by the composition root. */
export function readRecorder(): void {
  try {
    const kept = localStorage.getItem(KEY);
    recorder.value = RECORDERS.find((role) => role === kept) ?? "circulating";
  } catch {
    recorder.value = "circulating";
  }
}
