/** The database says what stands in its way, lets a newer version in, and opens anew after the browser closed it. */
import "fake-indexeddb/auto";
import { describe, expect, it } from "vitest";

import { Database } from "../../src/device/db.ts";
import { HandClock } from "../support/testTablet.ts";

let names = 0;

function database(name = `db-${(names += 1)}`) {
  const clock = new HandClock();
  const said: (string | null)[] = [];
  return { name, clock, said, database: new Database(name, clock, (words) => said.push(words)) };
}

function deleted(name: string): Promise<string> {
  return new Promise((resolve) => {
    const request = indexedDB.deleteDatabase(name);
    request.addEventListener("success", () => resolve("gone"));
    request.addEventListener("blocked", () => resolve("blocked"));
  });
}

describe("the database", () => {
  it("says within two seconds that another window holds it, and takes it back when it opens", async () => {
    const { clock, said, database: held } = database();
    const opening = held.connection();
    clock.pass(2_000);
    expect(said.at(-1)).toContain("Another window holds the store");
    await opening;
    expect(said.at(-1)).toBeNull();
  });

  it("lets go where another version wants in, so that it never blocks it", async () => {
    const { name, database: held } = database();
    await held.connection();
    expect(await deleted(name)).toBe("gone");
  });

  it("opens anew after it was closed, with one connection for all who ask at once", async () => {
    const { database: held } = database();
    const first = await held.connection();
    held.close();
    const [one, two] = await Promise.all([held.connection(), held.connection()]);
    expect(one).toBe(two);
    expect(one).not.toBe(first);
  });

  it("rejects in words after a transaction that was given up by the browser, and works again after it", async () => {
    const { database: held } = database();
    const write = held.write("work", async (tx) => {
      await tx.store.put({ a: 1 }, "row");
      tx.abort();
    });
    await expect(write).rejects.toThrow("Enter this again");
    await held.write("work", async (tx) => {
      await tx.store.put({ a: 2 }, "row");
    });
    expect(await held.read((db) => db.get("work", "row"))).toEqual({ a: 2 });
  });
});
