/** The entries of a log in memory: the second implementation of the seam, for tests. */
import type { Place } from "../core/entry.ts";
import type { EntryStore } from "./log.ts";
import type { StoredEntry } from "./rows.ts";

export class MemoryEntries implements EntryStore {
  private readonly logs = new Map<string, StoredEntry[]>();

  head(device: string): Promise<Place | null> {
    const last = this.log(device).at(-1);
    return Promise.resolve(last === undefined ? null : { seq: last.seq + 1, prev: last.digest });
  }

  add(entry: StoredEntry, place: Place): Promise<boolean> {
    const log = this.log(entry.device);
    const last = log.at(-1);
    const isHead = log.length === place.seq && (last === undefined || last.digest === place.prev);
    if (isHead) log.push(structuredClone(entry));
    return Promise.resolve(isHead);
  }

  read(device: string, from: number, count: number): Promise<readonly StoredEntry[]> {
    return Promise.resolve(this.log(device).slice(from, from + count));
  }

  private log(device: string): StoredEntry[] {
    const held = this.logs.get(device);
    if (held !== undefined) return held;
    const fresh: StoredEntry[] = [];
    this.logs.set(device, fresh);
    return fresh;
  }
}
