/** The entries of a log in IndexedDB: each is kept once its own strict transaction is complete, and not before. */
import type { Place } from "../core/entry.ts";
import { GiveUp, PlaceTaken, type Database } from "./db.ts";
import type { EntryStore } from "./log.ts";
import type { StoredEntry } from "./rows.ts";

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
      await this.database.writeFast("entries", (store, tx) => {
        // `add` fails, and with it the transaction, where the place is taken; so that the head can only have moved
        // without our seeing it where the entry before is another one. Both requests go out at once.
        const before: IDBRequest<StoredEntry | undefined> | null =
          place.seq === 0 ? null : store.get([device, place.seq - 1]);
        store.add(entry);
        if (before === null) tx.commit();
        else {
          before.addEventListener("success", () =>
            before.result?.digest === place.prev ? tx.commit() : tx.abort(),
          );
        }
      });
      // If we stop here, the entry is kept and nobody was told: it is there at the next start.
      return true;
    } catch (problem) {
      if (problem instanceof GiveUp || problem instanceof PlaceTaken) return false;
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
