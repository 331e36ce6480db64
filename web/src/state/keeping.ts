/** Where the record is: stored on this tablet, received by the server. Two facts, never one. */
import { signal } from "@preact/signals";

export interface Keeping {
  /** Entries in this tablet's log. */
  readonly stored: number;
  /** Entries for which there is a receipt signed by the server's key. */
  readonly received: number;
  readonly contact: "never" | "reached" | "cut";
  /** When the server last answered with a receipt, by this tablet's clock. */
  readonly lastContactMs: number | null;
  readonly sending: boolean;
  /** What stands in the way, in words; null while nothing does. */
  readonly problem: string | null;
  /** Whether the browser promised not to clear the store by itself; null while it has not answered. */
  readonly persisted: boolean | null;
}

export const keeping = signal<Keeping>({
  stored: 0,
  received: 0,
  contact: "never",
  lastContactMs: null,
  sending: false,
  problem: null,
  persisted: null,
});
