/** A whole tablet for tests: a database in memory, a simulated server, a clock and a page that the test moves. */
import protocolFile from "../../../shared/protocol/phaco-cataract.json";
import settingsFile from "../../../shared/unit/settings.json";
import { load } from "../../src/core/protocol.ts";
import type { Clock } from "../../src/device/clock.ts";
import { webCrypto } from "../../src/device/crypto.ts";
import { Database } from "../../src/device/db.ts";
import { DbEntries } from "../../src/device/dbLog.ts";
import { browserHighWater } from "../../src/device/highWater.ts";
import { Keys } from "../../src/device/keys.ts";
import type { Page } from "../../src/device/page.ts";
import type { Tablet } from "../../src/device/tablet.ts";
import type { Server } from "../../src/device/upload.ts";
import { WorkStore } from "../../src/device/work.ts";
import { loadedProtocol, loadedSettings } from "../../src/state/index.ts";

export class HandClock implements Clock {
  wall_ms = 1_764_000_000_000;
  mono_ms = 5_000;
  private timers: { readonly at_ms: number; readonly tick: () => void }[] = [];

  read() {
    return { wall_ms: this.wall_ms, mono_ms: this.mono_ms, boot: "boot", utc_offset_min: 0 };
  }

  after(delay_ms: number, tick: () => void): () => void {
    const timer = { at_ms: this.mono_ms + delay_ms, tick };
    this.timers.push(timer);
    return () => {
      this.timers = this.timers.filter((other) => other !== timer);
    };
  }

  /** Lets time pass and rings what is due. */
  pass(span_ms: number): void {
    this.wall_ms += span_ms;
    this.mono_ms += span_ms;
    const due = this.timers.filter(({ at_ms }) => at_ms <= this.mono_ms);
    this.timers = this.timers.filter((timer) => !due.includes(timer));
    for (const { tick } of due) tick();
  }
}

export class HandPage implements Page {
  wake: () => void = () => undefined;
  aside: () => void = () => undefined;
  lost: () => void = () => undefined;
  changed: () => void = () => undefined;
  told = 0;

  onWake(wake: () => void): void {
    this.wake = wake;
  }
  onNetworkLost(lost: () => void): void {
    this.lost = lost;
  }
  onAside(aside: () => void): void {
    this.aside = aside;
  }
  onOtherWindow(changed: () => void): void {
    this.changed = changed;
  }
  tellOtherWindows(): void {
    this.told += 1;
  }
  askToPersist(): Promise<boolean> {
    return Promise.resolve(true);
  }
}

/** What outlives a load of the page: the database by its name, and localStorage. */
export interface Disk {
  readonly name: string;
  readonly local: Map<string, string>;
}

let disks = 0;

export function freshDisk(): Disk {
  disks += 1;
  return { name: `disk-${disks}`, local: new Map() };
}

export interface TestTablet extends Tablet {
  readonly clock: HandClock;
  readonly page: HandPage;
}

/** One load of the page over a disk. */
export function testTablet(disk: Disk, server: Server): TestTablet {
  const clock = new HandClock();
  const database = new Database(disk.name, clock, () => undefined);
  loadedProtocol.value = load(protocolFile);
  loadedSettings.value = settingsFile;
  return {
    crypto: webCrypto,
    clock,
    entries: new DbEntries(database),
    keys: new Keys(database),
    work: new WorkStore(database),
    server,
    highWater: browserHighWater(storageOf(disk.local)),
    page: new HandPage(),
    worker: null,
    closeStore: () => database.close(),
  };
}

function storageOf(local: Map<string, string>): Pick<Storage, "getItem" | "setItem"> {
  return { getItem: (key) => local.get(key) ?? null, setItem: (key, value) => void local.set(key, value) };
}
