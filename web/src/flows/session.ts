/** One enrolled tablet at work: its log, what is known of it in memory, and how it reaches the server. */
import { clockJson, offsetFrom, setBack_ms, uuid7, type ClockOffset } from "../core/instant.ts";
import { NotAllowed } from "../core/errors.ts";
import type { LogEvent, Receipt, SealedText } from "../core/entry.ts";
import type { Json } from "../core/json.ts";
import { randomBytes, signerOf } from "../device/crypto.ts";
import type { ClockReading } from "../device/clock.ts";
import { Log } from "../device/log.ts";
import type { Enrolment } from "../device/rows.ts";
import type { Tablet } from "../device/tablet.ts";
import { cases, keeping, protocol } from "../state/index.ts";
import { Book, entryOf } from "./book.ts";
import { sealFreeTexts } from "./seal.ts";
import { isOpen, showReceived, showSubjects } from "./views.ts";

const UUID_RANDOM_BYTES = 10;

/** Roles, and how long ago it was said to have happened. */
export interface Tap {
  readonly ago_ms?: number;
  readonly said_by?: string;
  readonly entered_by?: string;
}

/** An event as it was stored. */
export interface StoredEvent {
  readonly event: LogEvent;
  readonly seq: number;
}

export class Session {
  readonly log: Log;
  readonly book: Book;
  private readonly received = new Map<string, number>();
  private offset: ClockOffset | null = null;
  private lastReading: ClockReading | null = null;
  /** Called after each entry that was stored here. */
  onStored: (stored: number) => void = () => undefined;

  constructor(
    readonly tablet: Tablet,
    readonly enrolment: Enrolment,
  ) {
    this.book = new Book(tablet.entries);
    const sign = signerOf(enrolment.keys.privateKey);
    this.log = new Log(tablet.crypto, sign, enrolment, tablet.entries, (stored) => this.stored(stored));
  }

  /** Reads what is here of every enrolment that this tablet ever had, and shows it. */
  async open(): Promise<void> {
    this.offset = await this.tablet.work.clockOffset();
    for (const { device } of await this.tablet.keys.enrolments()) {
      const receipt = await this.tablet.work.receipt(device);
      this.received.set(device, receipt?.n ?? 0);
    }
    cases.value = new Map();
    keeping.value = { ...keeping.value, received: this.receivedCount() };
    await this.refresh();
  }

  /** Reads what other windows stored, and shows it. */
  async refresh(): Promise<void> {
    const changed = new Set<string>();
    for (const device of this.received.keys()) {
      for (const subject of await this.book.refresh(device)) changed.add(subject);
    }
    showSubjects(this.book, this.received, protocol.value, changed);
    this.stored(await this.log.stored());
  }

  /** Another window stored something or heard from the server. */
  async follow(): Promise<void> {
    const receipt = await this.tablet.work.receipt(this.enrolment.device);
    if (receipt !== null && receipt.n !== this.receivedCount()) this.heard(receipt);
    await this.refresh();
  }

  /**
   * Seals, signs and stores one event, and resolves when it is durable. The clock is read first, at the tap.
   * `sealedAlready`: texts whose digests stand in `fields`.
   */
  async keep(
    fields: Readonly<Record<string, Json | undefined>>,
    tap: Tap = {},
    sealedAlready: readonly SealedText[] = [],
  ): Promise<StoredEvent> {
    const reading = this.readClock();
    const { ago_ms = 0, said_by, entered_by } = tap;
    if (!Number.isSafeInteger(ago_ms) || ago_ms < 0)
      throw new NotAllowed(`${ago_ms} ms ago: expected a time that has passed`);
    const { offset_ms = null, error_ms = null } = this.offset ?? {};
    const clock = clockJson({ ...reading, ago_ms, offset_ms, offset_error_ms: error_ms });
    const id = uuid7(reading.wall_ms + (offset_ms ?? 0), randomBytes(UUID_RANDOM_BYTES));
    const sealed = await sealFreeTexts(this.tablet.crypto, { ...fields, said_by, entered_by });
    return this.append({ id, ...sealed.fields, clock } as unknown as LogEvent, [
      ...sealed.texts,
      ...sealedAlready,
    ]);
  }

  /** Stores an event whose id, clock and seals are there already. */
  async append(event: LogEvent, texts: readonly SealedText[]): Promise<StoredEvent> {
    const { jws, digest, device, seq } = await this.log.append(event, texts).catch((problem: unknown) => {
      // Where the whole store was cleared, the mark went with it: it is what the next start says the loss by.
      const { device: own } = this.enrolment;
      this.tablet.highWater.raise({ device: own, stored: this.book.nextOf(own) });
      throw problem;
    });
    // If we stop here, the entry is kept; the page shows it at its next start.
    this.tablet.highWater.raise({ device, stored: seq + 1 });
    this.tablet.page.tellOtherWindows();
    // In front of it may stand what another window stored.
    if (this.book.nextOf(device) < seq) await this.refresh();
    const subject = this.book.add(entryOf({ device, seq, digest, jws, texts }));
    if (subject !== null) showSubjects(this.book, this.received, protocol.value, [subject]);
    return { event, seq };
  }

  /** A verified receipt that fits our log: kept, and shown where it vouches for more or for less than before. */
  async receive(receipt: Receipt): Promise<void> {
    await this.tablet.work.saveReceipt(receipt);
    if (receipt.n === this.receivedCount()) return;
    this.heard(receipt);
    this.tablet.page.tellOtherWindows();
  }

  private heard({ device, n }: Receipt): void {
    this.received.set(device, n);
    showReceived(this.book, this.received);
    keeping.value = { ...keeping.value, received: n };
  }

  receivedCount(): number {
    return this.received.get(this.enrolment.device) ?? 0;
  }

  /** Now, as entries made now carry it: this tablet's clock, set right by the server's as far as that is known. */
  now_ms(): number {
    return this.readClock().wall_ms + (this.offset?.offset_ms ?? 0);
  }

  /** Reads the clock. One that was set back in mid-case does not turn the order of its events: the offset takes it up. */
  private readClock(): ClockReading {
    const reading = this.tablet.clock.read();
    const back_ms = this.lastReading === null ? 0 : setBack_ms(this.lastReading, reading);
    this.lastReading = reading;
    if (back_ms > 0) {
      // A clock that was never compared may be wrong by as much as it was set.
      const { offset_ms, error_ms } = this.offset ?? { offset_ms: 0, error_ms: back_ms };
      this.offset = { offset_ms: offset_ms + back_ms, error_ms };
      // Where this is not kept, the next contact measures it anew.
      this.tablet.work.saveClockOffset(this.offset).catch(() => undefined);
    }
    return reading;
  }

  /** Takes a new measure of the server's clock, where the rules let it. */
  async hearClock(measured: ClockOffset): Promise<void> {
    this.readClock();
    const isCaseOpen = [...cases.value.values()].some((view) => isOpen(view, this.now_ms()));
    const next = offsetFrom(this.offset, measured, isCaseOpen);
    if (next === this.offset) return;
    this.offset = next;
    await this.tablet.work.saveClockOffset(next);
  }

  private stored(stored: number): void {
    keeping.value = { ...keeping.value, stored };
    this.onStored(stored);
  }
}

let current: Session | null = null;

/** The session of this page. Raises NotAllowed while the tablet is not enrolled. */
export function session(): Session {
  if (current === null)
    throw new NotAllowed("This tablet is not enrolled: it needs a code from the office first.");
  return current;
}

export function sessionOrNull(): Session | null {
  return current;
}

export function setSession(next: Session | null): void {
  current = next;
}
