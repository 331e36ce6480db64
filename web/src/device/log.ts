/**
 * This device's log: an event in, a signed entry at the end of the chain out. It only grows.
 *
 * An entry is signed before its transaction, for the head that is expected; the store adds it only if that is still
 * the head, and it is signed anew where another window was faster. The promise resolves when the entry is durable.
 */
import type { Crypto, Sign } from "../core/crypto.ts";
import {
  buildEntry,
  readEntry,
  type Entry,
  type LogEvent,
  type LogOwner,
  type Place,
  type SealedText,
} from "../core/entry.ts";
import { RetryLater } from "../core/errors.ts";
import { digestOf } from "../core/jws.ts";
import type { StoredEntry } from "./rows.ts";

/** Where entries are kept. There are two: IndexedDB, and memory for tests; both pass one acceptance suite. */
export interface EntryStore {
  /** Where the next entry goes; null while there is none of this device. */
  head(device: string): Promise<Place | null>;
  /**
   * Adds `entry` at `place`; false, and nothing added, where that is not the head any more. Must not resolve before the
   * entry is durable. A rejection leaves it open whether the entry is there.
   */
  add(entry: StoredEntry, place: Place): Promise<boolean>;
  /** At most `count` entries from `from` on, in order. */
  read(device: string, from: number, count: number): Promise<readonly StoredEntry[]>;
}

const TRIES = 3;
/** Other windows tap at the speed of hands; a head that moves this often is a store gone wrong. */
const MOVES_MAX = 50;
const PAGE = 500;

export class Log {
  private place: Place | null = null;
  private queue: Promise<unknown> = Promise.resolve();

  /** `onStored` hears the number of entries after each one that was stored. */
  constructor(
    private readonly crypto: Crypto,
    private readonly sign: Sign,
    readonly owner: LogOwner,
    private readonly store: EntryStore,
    private readonly onStored: (stored: number) => void,
  ) {}

  /** The number of entries that are here. */
  async stored(): Promise<number> {
    return (await this.head()).seq;
  }

  /** Entries of this window go one after the other. Raises RetryLater where the event could not be stored. */
  append(event: LogEvent, texts: readonly SealedText[]): Promise<Entry> {
    const appended = this.queue.then(() => this.appendNow(event, texts));
    this.queue = appended.catch(() => undefined);
    return appended;
  }

  read(from: number, count: number): Promise<readonly StoredEntry[]> {
    return this.store.read(this.owner.device, from, count);
  }

  private async appendNow(event: LogEvent, texts: readonly SealedText[]): Promise<Entry> {
    const first = this.place ?? (await this.head());
    let failures = 0;
    let moves = 0;
    for (let place = first; ; place = await this.head()) {
      // A log only grows: one begun anew under the same key would be a second history, and never reach the server.
      if (place.seq < first.seq) throw new RetryLater(lostWords(first.seq - place.seq));
      const entry = await buildEntry(this.crypto, this.sign, this.owner, place, event);
      const outcome = await this.tryToAdd({ ...keptOf(entry), texts }, place);
      if (outcome === true) return this.stand(entry);
      // An unknown outcome, or a head that moved: perhaps by this very event, so it is looked for before it goes again.
      const found = await this.find(event.id, first.seq);
      if (found !== null) return this.stand(found);
      if (outcome === false) moves += 1;
      else failures += 1;
      if (failures === TRIES && outcome !== false) throw outcome;
      if (moves === MOVES_MAX)
        throw new RetryLater("The log of this tablet did not stand still. Enter this again.");
    }
  }

  private async tryToAdd(entry: StoredEntry, place: Place): Promise<boolean | RetryLater> {
    try {
      return await this.store.add(entry, place);
    } catch (problem) {
      if (problem instanceof RetryLater) return problem;
      throw problem;
    }
  }

  private async find(id: string, from: number): Promise<Entry | null> {
    for (let at = from; ; at += PAGE) {
      const page = await this.store.read(this.owner.device, at, PAGE);
      for (const { jws, digest } of page) {
        const entry = readEntry(jws, digest);
        if (entry.event.id === id) return entry;
      }
      if (page.length < PAGE) return null;
    }
  }

  private async head(): Promise<Place> {
    const { device, certificate } = this.owner;
    return (await this.store.head(device)) ?? { seq: 0, prev: await digestOf(this.crypto, certificate) };
  }

  private stand(entry: Entry): Entry {
    // A found entry need not be the last one: then the head is read again before the next.
    this.place = { seq: entry.seq + 1, prev: entry.digest };
    this.onStored(entry.seq + 1);
    return entry;
  }
}

function lostWords(lost: number): string {
  return `This tablet lost its store: ${lost} entries are gone from here, and this one is not stored. Load this page again.`;
}

function keptOf({ device, seq, digest, jws }: Entry): Omit<StoredEntry, "texts"> {
  return { device, seq, digest, jws };
}
