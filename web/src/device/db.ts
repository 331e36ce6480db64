/**
 * The one IndexedDB database of this tablet: opened, reopened after the browser closed it, and written to strictly.
 *
 * The version stays 1 for ever, so that an older app still opens a newer one's store; rows carry their own versions.
 * Nothing here deletes a database, whatever happened to it.
 */
import { openDB, unwrap, type DBSchema, type IDBPDatabase, type IDBPTransaction, type StoreNames } from "idb";

import type { Receipt } from "../core/entry.ts";
import { RetryLater } from "../core/errors.ts";
import type { ClockOffset } from "../core/instant.ts";
import type { JsonObject } from "../core/json.ts";
import type { Clock } from "./clock.ts";
import type { Enrolment, PinKey, StoredEntry } from "./rows.ts";

interface Schema extends DBSchema {
  entries: { key: [device: string, seq: number]; value: StoredEntry };
  enrolments: { key: string; value: Enrolment };
  pin_keys: { key: string; value: PinKey };
  receipts: { key: string; value: Receipt };
  work: { key: string; value: JsonObject };
  clock_offsets: { key: string; value: ClockOffset };
}

export type Store = StoreNames<Schema>;
export type Writing<S extends Store> = IDBPTransaction<Schema, [S], "readwrite">;

/** The storage of this tablet is full: nothing was stored. */
export class StoreFull extends RetryLater {}

/** A row stands under this key already: nothing was stored. */
export class PlaceTaken extends Error {}

/** Thrown by a write that must not happen: the transaction is given up, and nothing of it is stored. */
export class GiveUp extends Error {}

const VERSION = 1;
const SLOW_MS = 2_000;

/** `say` hears what stands in the way of opening, in words; null when nothing does any more. */
export class Database {
  private opened: Promise<IDBPDatabase<Schema>> | null = null;

  constructor(
    private readonly name: string,
    private readonly clock: Clock,
    private readonly say: (trouble: string | null) => void,
  ) {}

  /** The open connection, opened anew where the browser or another version closed it. */
  connection(): Promise<IDBPDatabase<Schema>> {
    if (this.opened === null) {
      const opening = this.open();
      this.opened = opening;
      opening.catch(() => this.forget(opening));
    }
    return this.opened;
  }

  /** Before the page is put aside: an open connection would keep it from coming back. */
  close(): void {
    const { opened } = this;
    this.opened = null;
    opened?.then((db) => db.close()).catch(() => undefined);
  }

  /** Reads, or rejects with RetryLater. */
  async read<T>(work: (db: IDBPDatabase<Schema>) => Promise<T>): Promise<T> {
    try {
      return await work(await this.connection());
    } catch (problem) {
      this.close();
      throw storeProblem(problem);
    }
  }

  /**
   * Writes in one strict transaction and resolves after it is complete, with what `work` returned.
   * GiveUp from `work` leaves everything as it was. Any other rejection means that the outcome is unknown: what was
   * written may be found there later.
   */
  async write<S extends Store, T>(store: S, work: (tx: Writing<S>) => Promise<T>): Promise<T> {
    try {
      const tx = (await this.connection()).transaction([store] as [S], "readwrite", { durability: "strict" });
      const done = tx.done.then(
        () => null,
        (problem: unknown) => problem ?? new Error("aborted"),
      );
      const result = await work(tx).catch((problem: unknown) => giveUp(tx, problem));
      tx.commit();
      const problem = await done;
      if (problem !== null) throw problem;
      return result;
    } catch (problem) {
      if (problem instanceof GiveUp) throw problem;
      // An aborted transaction often goes with a broken connection: the next one is a fresh one.
      this.close();
      throw storeProblem(problem);
    }
  }

  /**
   * Like `write`, for the one transaction that stands between a tap and "stored here": plain requests, no wrappers.
   * `work` makes its requests at once and calls `commit` as soon as the answers allow it, or `abort`.
   * Rejects with GiveUp for an abort, with PlaceTaken where a row stood there already, else as `write` does.
   */
  async writeFast(store: Store, work: (store: IDBObjectStore, tx: IDBTransaction) => void): Promise<void> {
    try {
      const db = unwrap(await this.connection());
      await new Promise<void>((resolve, reject) => {
        const tx = db.transaction([store], "readwrite", { durability: "strict" });
        tx.addEventListener("complete", () => resolve());
        tx.addEventListener("abort", () => reject(tx.error ?? new GiveUp()));
        work(tx.objectStore(store), tx);
      });
    } catch (problem) {
      if (problem instanceof GiveUp) throw problem;
      if (problem instanceof DOMException && problem.name === "ConstraintError") throw new PlaceTaken();
      this.close();
      throw storeProblem(problem);
    }
  }

  private async open(): Promise<IDBPDatabase<Schema>> {
    const blocked = () => this.say("Another window holds the store of this tablet. Close the other windows.");
    const callOff = this.clock.after(SLOW_MS, blocked);
    try {
      const db: IDBPDatabase<Schema> = await openDB<Schema>(this.name, VERSION, {
        upgrade: makeStores,
        blocked,
        blocking: () => this.close(),
        terminated: () => this.forget(),
      });
      this.say(null);
      return db;
    } finally {
      callOff();
    }
  }

  private forget(opening: Promise<unknown> | null = this.opened): void {
    if (this.opened === opening) this.opened = null;
  }
}

function makeStores(db: IDBPDatabase<Schema>): void {
  db.createObjectStore("entries", { keyPath: ["device", "seq"] });
  db.createObjectStore("enrolments");
  db.createObjectStore("pin_keys", { keyPath: "code" });
  db.createObjectStore("receipts", { keyPath: "device" });
  db.createObjectStore("work");
  db.createObjectStore("clock_offsets");
}

function giveUp(tx: { abort(): void }, problem: unknown): never {
  try {
    tx.abort();
  } catch {
    // It has aborted itself already.
  }
  throw problem;
}

/** Every failure of the store in words that say what it means. */
function storeProblem(problem: unknown): Error {
  if (problem instanceof RetryLater) return problem;
  const { name, message } = problem instanceof Error ? problem : new Error(String(problem));
  if (name === "QuotaExceededError") {
    return new StoreFull("The storage of this tablet is full. Free some space on it, then enter this again.");
  }
  return new RetryLater(
    `The store of this tablet did not answer as it must (${name}: ${message}). Enter this again.`,
  );
}
