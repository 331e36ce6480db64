/** What this tablet is, and whether its store is whole. Written by flows, read by the screens. */
import { signal } from "@preact/signals";

export interface DeviceState {
  /** `lost_store`: fewer entries are here than were ever stored; recording goes on, and the loss is said. */
  readonly phase: "opening" | "not_enrolled" | "ready" | "lost_store";
  readonly unit: string | null;
  readonly unitName: string | null;
  readonly name: string | null;
  /** Entries that are here, and entries that were stored, as far as is known; null while nothing is missing. */
  readonly lostStored: { readonly held: number; readonly known: number } | null;
}

export const device = signal<DeviceState>({
  phase: "opening",
  unit: null,
  unitName: null,
  name: null,
  lostStored: null,
});
