/** The entries of a log in IndexedDB: each is kept once its own strict transaction is complete, and not before. */
import type { Place } from "../core/entry.ts";
import { GiveUp, type Database } from "./db.ts";
import type { EntryStore } from "./log.ts";
import type { StoredEntry } from "./rows.ts";

/** The place is taken, or what stands before it is not what the entry was signed for. */
class HeadMoved extends GiveUp {}

export class DbEntries implements EntryStore {
  constructor(private readonly database: Database) {}

  head(device: string): Promise<Place | null> {
    return this.database.read(async (db) => {
      const last = await db.transaction("entries").store.openCursor(ofDevice(device, 0), "prev");
      return last === null ? null : { seq: last.value.seq + 1, prev: last.value.digest };
    });
  }

  async add(entry: StoredEntry, place: Place): Promise<boolean> {
    const { device } = entry;
    try {
      await this.database.write("entries", async ({ store }) => {
        // Both requests go out at once. `add` fails where the place is taken, so that the head can only have moved
        // without our seeing it where the entry before is another one.
        const before = place.seq === 0 ? null : store.get([device, place.seq - 1]);
        const [held] = await Promise.all([before, store.add(entry).catch(takenOr)]);
        if (place.seq > 0 && held?.digest !== place.prev) throw new HeadMoved();
      });
      // If we stop here, the entry is kept and nobody was told: it is there at the next start.
      return true;
    } catch (problem) {
      if (problem instanceof HeadMoved) return false;
      throw problem;
    }
  }

  read(device: string, from: number, count: number): Promise<readonly StoredEntry[]> {
    return this.database.read((db) => db.getAll("entries", ofDevice(device, from), count));
  }
}

function ofDevice(device: string, from: number): IDBKeyRange {
  return IDBKeyRange.bound([device, from], [device, Infinity]);
}

function takenOr(problem: unknown): never {
  throw problem instanceof DOMException && problem.name === "ConstraintError" ? new HeadMoved() : problem;
}
