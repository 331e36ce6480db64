/** Both stores of a log pass the one suite; the database one also survives what browsers do to databases. */
import "fake-indexeddb/auto";
import { describe, expect, it, vi } from "vitest";

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

  it("that was emptied under a running page takes no second history and says what was lost", async () => {
    const device = await testDevice();
    const { database } = testDatabase();
    const log = new Log(webCrypto, device.sign, device.owner, new DbEntries(database), () => undefined);
    await log.append(eventAt("one", 1), []);
    await log.append(eventAt("two", 2), []);
    await database.write("entries", (tx) => tx.store.clear());
    await expect(log.append(eventAt("three", 3), [])).rejects.toThrow("lost its store: 2 entries");
    await expect(log.append(eventAt("four", 4), [])).rejects.toThrow("is not stored");
    expect(await log.stored()).toBe(0);
  });

  it("asks for strict durability for every entry", async () => {
    const device = await testDevice();
    const { database } = testDatabase();
    const asked = vi.spyOn(IDBDatabase.prototype, "transaction");
    const log = new Log(webCrypto, device.sign, device.owner, new DbEntries(database), () => undefined);
    await log.append(eventAt("e", 1), []);
    expect(asked.mock.calls.filter(([, mode]) => mode === "readwrite").map((call) => call[2])).toEqual([
      { durability: "strict" },
    ]);
    asked.mockRestore();
  });

  it("says what a full storage means, stores nothing, and goes on when there is room again", async () => {
    const device = await testDevice();
    const { database } = testDatabase();
    const log = new Log(webCrypto, device.sign, device.owner, new DbEntries(database), () => undefined);
    const add = vi.spyOn(IDBObjectStore.prototype, "add").mockImplementation(() => {
      throw new DOMException("no room", "QuotaExceededError");
    });
    await expect(log.append(eventAt("full", 1), [])).rejects.toThrow("storage of this tablet is full");
    add.mockRestore();
    expect(await log.stored()).toBe(0);
    await log.append(eventAt("room", 2), []);
    expect(await log.stored()).toBe(1);
  });
});
