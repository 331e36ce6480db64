/** Everything of the device that the flows work with, put together once for the page. */
import { base64url } from "../core/encoding.ts";
import type { Crypto } from "../core/crypto.ts";
import { browserClock, type Clock } from "./clock.ts";
import { randomBytes, webCrypto } from "./crypto.ts";
import { Database } from "./db.ts";
import { DbEntries } from "./dbLog.ts";
import { browserHighWater, type HighWater } from "./highWater.ts";
import { Keys } from "./keys.ts";
import type { EntryStore } from "./log.ts";
import { browserPage, type Page } from "./page.ts";
import { browserServer, type Server } from "./upload.ts";
import { browserWorker, type Worker } from "./worker.ts";
import { WorkStore } from "./work.ts";

export interface Tablet {
  readonly crypto: Crypto;
  readonly clock: Clock;
  readonly entries: EntryStore;
  readonly keys: Keys;
  readonly work: WorkStore;
  readonly server: Server;
  readonly highWater: HighWater;
  readonly page: Page;
  readonly worker: Worker | null;
  /** Lets go of the database until it is used again. */
  closeStore(): void;
}

/** `say`: hears what stands in the way of the store, in words; null when nothing does. */
export function browserTablet(say: (trouble: string | null) => void): Tablet {
  const clock = browserClock(base64url(randomBytes(9)));
  const database = new Database("hubheld", clock, say);
  return {
    crypto: webCrypto,
    clock,
    entries: new DbEntries(database),
    keys: new Keys(database),
    work: new WorkStore(database),
    server: browserServer(),
    highWater: browserHighWater(localStorage),
    page: browserPage(),
    worker: browserWorker(),
    closeStore: () => database.close(),
  };
}
