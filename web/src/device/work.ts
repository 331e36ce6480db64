/** What the server gave this tablet, kept for when there is no network: receipts, lists, values, people, its clock. */
import type { Receipt } from "../core/entry.ts";
import type { ClockOffset } from "../core/instant.ts";
import type { JsonObject } from "../core/json.ts";
import type { Database } from "./db.ts";

const CURRENT = "current";

export class WorkStore {
  constructor(private readonly database: Database) {}

  /** The last answer to a pull, as it came. */
  async work(): Promise<JsonObject | null> {
    return (await this.database.read((db) => db.get("work", CURRENT))) ?? null;
  }

  saveWork(work: JsonObject): Promise<void> {
    return this.database.write("work", async ({ store }) => {
      await store.put(work, CURRENT);
    });
  }

  /** The last receipt for this device's log. */
  async receipt(device: string): Promise<Receipt | null> {
    return (await this.database.read((db) => db.get("receipts", device))) ?? null;
  }

  saveReceipt(receipt: Receipt): Promise<void> {
    return this.database.write("receipts", async ({ store }) => {
      await store.put(receipt);
    });
  }

  async clockOffset(): Promise<ClockOffset | null> {
    return (await this.database.read((db) => db.get("clock_offsets", CURRENT))) ?? null;
  }

  saveClockOffset(offset: ClockOffset): Promise<void> {
    return this.database.write("clock_offsets", async ({ store }) => {
      await store.put(offset, CURRENT);
    });
  }
}
