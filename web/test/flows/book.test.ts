/** What of a log stands in memory: the last week, in pages; the rest stays in the store and is sent from there. */
import { describe, expect, it } from "vitest";

import { webCrypto } from "../../src/device/crypto.ts";
import { Log } from "../../src/device/log.ts";
import { MemoryEntries } from "../../src/device/memoryLog.ts";
import { Book } from "../../src/flows/book.ts";
import { eventAt, testDevice } from "../support/logs.ts";

const DAY_MS = 86_400_000;
const NOW_MS = 1_764_000_000_000;

describe("the book", () => {
  it("reads a week back from the newest entry, but a thousand entries whatever their time, and what came later", async () => {
    const device = await testDevice();
    const store = new MemoryEntries();
    const log = new Log(webCrypto, device.sign, device.owner, store, () => undefined);
    const add = (id: string, ago_days: number) =>
      log.append(eventAt(id, NOW_MS - ago_days * DAY_MS, { case: `case-${ago_days}` }), []);
    for (let count = 0; count < 1_700; count += 1) await add(`old-${count}`, 60);
    for (let count = 0; count < 400; count += 1) await add(`new-${count}`, 1);
    const book = new Book(store);
    const changed = await book.refresh(device.owner.device);
    expect(changed).toContain("case-1");
    expect(book.of("case-1")).toHaveLength(400);
    expect(book.of("case-60")).toHaveLength(600);
    expect(book.nextOf(device.owner.device)).toBe(2_100);
    await add("later", 0);
    expect(await book.refresh(device.owner.device)).toEqual(new Set(["case-0"]));
    expect(await book.refresh(device.owner.device)).toEqual(new Set());
  });

  it("ties a case to those that were moved to it, and a list to the cases that were opened on it", async () => {
    const device = await testDevice();
    const store = new MemoryEntries();
    const log = new Log(webCrypto, device.sign, device.owner, store, () => undefined);
    const event = (id: string, more: Parameters<typeof eventAt>[2]) =>
      log.append(eventAt(id, NOW_MS, more), []);
    await event("o", { type: "case_opened", case: "a", list: "l" });
    await event("m", { type: "case_moved", case: "a", to: "b" });
    await event("n", { type: "case_moved", case: "b", to: "c" });
    const { clock, ...brief } = eventAt("t", NOW_MS, { list: "l", step: "team-brief" });
    const { case: _case, ...ofList } = brief;
    await log.append({ ...ofList, clock } as unknown as Parameters<typeof log.append>[0], []);
    const book = new Book(store);
    await book.refresh(device.owner.device);
    expect(book.casesTouched(["a"])).toEqual(new Set(["a", "b"]));
    expect(book.casesTouched(["l"])).toEqual(new Set(["a", "b"]));
    expect(
      book
        .about("c")
        .map(({ event: { id } }) => id)
        .toSorted(),
    ).toEqual(["m", "n", "o", "t"]);
  });
});
