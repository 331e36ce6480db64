/** What every store of a log must do: one suite, run by the IndexedDB store and by the memory store. */
import { describe, expect, it } from "vitest";

import { verifyEntry, type Place } from "../../src/core/entry.ts";
import { digestOf } from "../../src/core/jws.ts";
import { RetryLater } from "../../src/core/errors.ts";
import { webCrypto } from "../../src/device/crypto.ts";
import { Log, type EntryStore } from "../../src/device/log.ts";
import type { StoredEntry } from "../../src/device/rows.ts";
import { eventAt, testDevice, type TestDevice } from "../support/logs.ts";

const ALL = 100_000;

function logOf(device: TestDevice, store: EntryStore): Log {
  return new Log(webCrypto, device.sign, device.owner, store, () => undefined);
}

async function verified(device: TestDevice, store: EntryStore): Promise<readonly string[]> {
  const ids: string[] = [];
  let prev = await digestOf(webCrypto, device.owner.certificate);
  for (const [seq, { jws }] of (await store.read(device.owner.device, 0, ALL)).entries()) {
    const entry = await verifyEntry(webCrypto, jws, device.jwk, device.owner, { seq, prev });
    ids.push(entry.event.id);
    prev = entry.digest;
  }
  return ids;
}

/** A store that stands between: `before` may write behind the log's back, `after` may lose the answer. */
class Between implements EntryStore {
  constructor(
    private readonly store: EntryStore,
    private readonly before: () => Promise<void>,
    private readonly after: () => void,
  ) {}
  head(device: string): Promise<Place | null> {
    return this.store.head(device);
  }
  read(device: string, from: number, count: number): Promise<readonly StoredEntry[]> {
    return this.store.read(device, from, count);
  }
  async add(entry: StoredEntry, place: Place): Promise<boolean> {
    await this.before();
    const added = await this.store.add(entry, place);
    this.after();
    return added;
  }
}

export function acceptLog(name: string, makeStore: () => EntryStore): void {
  describe(`a log in ${name}`, () => {
    it("is empty before its first entry", async () => {
      const device = await testDevice();
      const store = makeStore();
      expect(await store.head(device.owner.device)).toBeNull();
      expect(await logOf(device, store).stored()).toBe(0);
    });

    it("numbers entries without a gap and chains each to the one before, the first to the certificate", async () => {
      const device = await testDevice();
      const store = makeStore();
      const log = logOf(device, store);
      const ids = Array.from({ length: 20 }, (_, at) => `e${at}`);
      await Promise.all(ids.map((id, at) => log.append(eventAt(id, at), [])));
      expect(await verified(device, store)).toEqual(ids);
      expect(await log.stored()).toBe(20);
    });

    it("keeps what another window appended, and signs anew behind it", async () => {
      const device = await testDevice();
      const store = makeStore();
      const [first, second] = [logOf(device, store), logOf(device, store)];
      await Promise.all([
        ...Array.from({ length: 10 }, (_, at) => first.append(eventAt(`a${at}`, at), [])),
        ...Array.from({ length: 10 }, (_, at) => second.append(eventAt(`b${at}`, at), [])),
      ]);
      expect(new Set(await verified(device, store)).size).toBe(20);
    });

    it("stores an event once when the answer to the first try was lost", async () => {
      const device = await testDevice();
      const store = makeStore();
      let losses = 1;
      const lossy = new Between(
        store,
        () => Promise.resolve(),
        () => {
          if (losses-- > 0) throw new RetryLater("the answer was lost");
        },
      );
      const entry = await logOf(device, lossy).append(eventAt("once", 1), []);
      expect(entry.seq).toBe(0);
      expect(await verified(device, store)).toEqual(["once"]);
    });

    it("tries again with the same event where nothing was stored, and says so when it cannot", async () => {
      const device = await testDevice();
      const store = makeStore();
      let failures = 2;
      const failing = new Between(
        store,
        async () => {
          if (failures-- > 0) throw new RetryLater("not stored");
        },
        () => undefined,
      );
      const log = logOf(device, failing);
      await log.append(eventAt("kept", 1), []);
      failures = 100;
      await expect(log.append(eventAt("not-kept", 2), [])).rejects.toThrow("not stored");
      failures = 0;
      await log.append(eventAt("later", 3), []);
      expect(await verified(device, store)).toEqual(["kept", "later"]);
    });

    it("finds its event when another window appended behind an answer that was lost", async () => {
      const device = await testDevice();
      const store = makeStore();
      const other = logOf(device, store);
      let losses = 1;
      const lossy: EntryStore = {
        head: (id) => store.head(id),
        read: (id, from, count) => store.read(id, from, count),
        async add(entry, place) {
          const added = await store.add(entry, place);
          if (losses-- > 0) {
            await other.append(eventAt("other", 2), []);
            throw new RetryLater("the answer was lost");
          }
          return added;
        },
      };
      const log = logOf(device, lossy);
      await log.append(eventAt("mine", 1), []);
      await log.append(eventAt("next", 3), []);
      expect(await verified(device, store)).toEqual(["mine", "other", "next"]);
    });

    it("gives up in words on a store whose head never stands still", async () => {
      const device = await testDevice();
      const store = makeStore();
      const restless: EntryStore = {
        head: (id) => store.head(id),
        read: (id, from, count) => store.read(id, from, count),
        add: () => Promise.resolve(false),
      };
      await expect(logOf(device, restless).append(eventAt("e", 1), [])).rejects.toThrow(
        "did not stand still",
      );
    });

    it("keeps sealed texts beside the entry and not inside it", async () => {
      const device = await testDevice();
      const store = makeStore();
      const text = { sha256: "d", salt: "s", text: "pump stopped" };
      await logOf(device, store).append(eventAt("e", 1, { text: { sha256: "d" } }), [text]);
      const [row] = await store.read(device.owner.device, 0, ALL);
      expect(row?.texts).toEqual([text]);
      expect(atob((row?.jws.split(".")[1] ?? "").replaceAll("-", "+").replaceAll("_", "/"))).not.toContain(
        "pump",
      );
    });

    it("refuses an entry for a place that is not the head", async () => {
      const device = await testDevice();
      const store = makeStore();
      await logOf(device, store).append(eventAt("e", 1), []);
      const row = { device: device.owner.device, digest: "d", jws: "j", texts: [] };
      expect(await store.add({ ...row, seq: 0 }, { seq: 0, prev: "x" })).toBe(false);
      expect(await store.add({ ...row, seq: 1 }, { seq: 1, prev: "another" })).toBe(false);
      expect(await store.add({ ...row, seq: 5 }, { seq: 5, prev: "x" })).toBe(false);
      expect(await store.read(device.owner.device, 0, ALL)).toHaveLength(1);
    });

    it("keeps the logs of two devices apart", async () => {
      const [one, two] = [await testDevice(), await testDevice()];
      const store = makeStore();
      await logOf(one, store).append(eventAt("one", 1), []);
      await logOf(two, store).append(eventAt("two", 1), []);
      expect(await verified(one, store)).toEqual(["one"]);
      expect(await verified(two, store)).toEqual(["two"]);
    });
  });
}
