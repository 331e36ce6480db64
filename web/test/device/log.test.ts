/** Both stores of a log pass the one suite; the database one also survives what browsers do to databases. */
import "fake-indexeddb/auto";
import { describe, expect, it } from "vitest";

import { webCrypto } from "../../src/device/crypto.ts";
import { DbEntries } from "../../src/device/dbLog.ts";
import { Log } from "../../src/device/log.ts";
import { MemoryEntries } from "../../src/device/memoryLog.ts";
import { acceptLog } from "../acceptance/log.ts";
import { eventAt, testDatabase, testDevice } from "../support/logs.ts";

acceptLog("memory", () => new MemoryEntries());
acceptLog("IndexedDB", () => new DbEntries(testDatabase().database));

describe("the database of a log", () => {
  it("is opened anew after it was closed, and nothing is missing", async () => {
    const device = await testDevice();
    const { database } = testDatabase();
    const log = new Log(webCrypto, device.sign, device.owner, new DbEntries(database), () => undefined);
    await log.append(eventAt("before", 1), []);
    database.close();
    await log.append(eventAt("after", 2), []);
    expect(await log.stored()).toBe(2);
  });

  it("asks for strict durability and commits explicitly, once for an entry", async () => {
    const device = await testDevice();
    const { database } = testDatabase();
    const db = await database.connection();
    const asked: unknown[] = [];
    const { transaction } = db;
    Object.assign(db, {
      transaction: (...wanted: Parameters<typeof transaction>) => {
        asked.push(wanted.slice(1));
        return transaction.apply(db, wanted);
      },
    });
    const log = new Log(webCrypto, device.sign, device.owner, new DbEntries(database), () => undefined);
    await log.append(eventAt("e", 1), []);
    expect(asked).toContainEqual(["readwrite", { durability: "strict" }]);
  });
});
