/** Drives core/syncstate: what it says is done, what comes of it is told to it. Only a verified receipt counts. */
import { HubheldError, NotAllowed, RetryLater } from "../core/errors.ts";
import { verifyReceipt, type Receipt } from "../core/entry.ts";
import { measuredOffset } from "../core/instant.ts";
import type { JsonObject } from "../core/json.ts";
import { digestOf } from "../core/jws.ts";
import {
  initialSync,
  step,
  type Failure,
  type SyncCommand,
  type SyncMessage,
  type SyncState,
} from "../core/syncstate.ts";
import { needText } from "../core/values.ts";
import { chance } from "../device/crypto.ts";
import type { StoredEntry } from "../device/rows.ts";
import { Refusal, Unreachable } from "../device/upload.ts";
import { device, keeping } from "../state/index.ts";
import type { Session } from "./session.ts";

/** Below the server's limit of 1 MiB for a body, with room for the envelope. */
const BODY_BYTES_MAX = 1_000_000;

const FORK =
  "The server holds other entries under this tablet's key than this tablet does. Nothing is lost, and recording goes on: " +
  "enrol this tablet afresh with a new code from the office, and what the server lacks is carried over.";

interface Waiter {
  readonly resolve: () => void;
  readonly reject: (problem: Error) => void;
}

export class Sync {
  private state: SyncState;
  private callOff: () => void = () => undefined;
  private waiters: readonly Waiter[] = [];
  private isStopped = false;

  /** `onContact`: called after each receipt. */
  constructor(
    private readonly session: Session,
    private readonly onContact: () => void,
  ) {
    this.state = initialSync(keeping.value.stored, session.receivedCount());
    session.onStored = (stored) => this.tell({ kind: "stored", stored });
  }

  /** Goes to the server now, whatever it waited for. */
  wake(): void {
    this.tell({ kind: "wake" });
  }

  /** Asks how the server stands when nothing else has for a while; a wait that is running is kept. */
  touch(): void {
    if (!this.state.isWaiting) this.wake();
  }

  /** Resolves when the server has a receipt for all that is stored; rejects with the reason why it has not. */
  sendNow(): Promise<void> {
    const sent = new Promise<void>((resolve, reject) => {
      this.waiters = [...this.waiters, { resolve, reject }];
    });
    this.wake();
    return sent;
  }

  networkLost(): void {
    keeping.value = { ...keeping.value, contact: "cut" };
  }

  /** For good: what still comes back is not listened to. */
  stop(): void {
    this.isStopped = true;
    this.callOff();
    this.session.onStored = () => undefined;
  }

  private tell(message: SyncMessage): void {
    const { state, commands } = step(this.state, message);
    this.state = state;
    const { received, asked } = state;
    keeping.value = { ...keeping.value, received, sending: asked !== null };
    for (const command of commands) void this.follow(command);
    if (message.kind === "receipt") this.settle();
  }

  private async follow(command: SyncCommand): Promise<void> {
    if (command.kind === "wait") {
      this.callOff();
      this.callOff = this.session.tablet.clock.after(command.delay_ms, () => this.wake());
      return;
    }
    try {
      const receipt =
        command.kind === "ask" ? await this.ask() : await this.send(command.from, command.count);
      if (!this.isStopped) await this.hear(receipt);
    } catch (problem) {
      if (!this.isStopped) this.fail(problem);
    }
  }

  private async ask(): Promise<Receipt> {
    const { clock } = this.session.tablet;
    const sent = clock.read();
    const receipt = await this.post("/logs/status", {});
    const answered = clock.read();
    // The wall clock may be set in between; the monotonic one tells how long it took.
    const answered_ms = sent.wall_ms + (answered.mono_ms - sent.mono_ms);
    await this.session.hearClock(measuredOffset(sent.wall_ms, answered_ms, receipt.at_ms));
    return receipt;
  }

  private async send(from: number, count: number): Promise<Receipt> {
    const rows = await this.session.log.read(from, count);
    return this.post("/logs/entries", { from, entries: fitting(rows) });
  }

  private async post(path: string, body: JsonObject): Promise<Receipt> {
    const { tablet, enrolment } = this.session;
    const { certificate, serverJwk } = enrolment;
    const answer = await tablet.server.post(path, { certificate, ...body });
    return verifyReceipt(tablet.crypto, needText(answer["receipt"], "receipt"), serverJwk, enrolment);
  }

  private async hear(receipt: Receipt): Promise<void> {
    const stored = await this.session.log.stored();
    const fits = receipt.n <= stored && receipt.head === (await this.headAt(receipt.n));
    if (fits) await this.session.receive(receipt);
    else if (receipt.n > stored) showLoss(stored, receipt.n);
    const lastContactMs = this.session.tablet.clock.read().wall_ms;
    keeping.value = { ...keeping.value, contact: "reached", lastContactMs, problem: fits ? null : FORK };
    this.state = { ...this.state, stored };
    this.tell({ kind: "receipt", n: receipt.n, fits });
    this.onContact();
  }

  /** The digest of entry n - 1, and of the certificate for none; null where it is not here. */
  private async headAt(n: number): Promise<string | null> {
    const { tablet, enrolment, log } = this.session;
    if (n === 0) return digestOf(tablet.crypto, enrolment.certificate);
    return (await log.read(n - 1, 1))[0]?.digest ?? null;
  }

  private fail(problem: unknown): void {
    const { why, words } = failureOf(problem);
    keeping.value = { ...keeping.value, contact: "cut", problem: words };
    this.tell({ kind: "failed", why, random: chance() });
    const waiters = this.waiters;
    this.waiters = [];
    for (const { reject } of waiters) reject(new NotAllowed(words));
  }

  private settle(): void {
    const { stop, received, stored } = this.state;
    if (stop === null && received < stored) return;
    const waiters = this.waiters;
    this.waiters = [];
    for (const { resolve, reject } of waiters) {
      if (stop === null) resolve();
      else reject(new NotAllowed(FORK));
    }
  }
}

/** As many entries from the start as go into one body, and at least one. */
function fitting(rows: readonly StoredEntry[]): readonly JsonObject[] {
  const entries: JsonObject[] = [];
  let bytes = 0;
  for (const { jws, texts } of rows) {
    const entry = { jws, texts: texts.map(({ sha256, salt, text }) => ({ sha256, salt, text })) };
    // A text is at most three bytes for each unit of UTF-16, and six when it is escaped.
    bytes += jws.length + texts.reduce((sum, { text }) => sum + 100 + 6 * text.length, 50);
    if (bytes > BODY_BYTES_MAX && entries.length > 0) break;
    entries.push(entry);
  }
  return entries;
}

const BODY_TOO_LARGE = 413;
const OUT_OF_STEP = 409;
const SERVER_SIDE = 500;
const TOO_MANY = 429;

function failureOf(problem: unknown): { readonly why: Failure; readonly words: string } {
  if (problem instanceof Unreachable) return { why: "no_answer", words: problem.message };
  if (problem instanceof Refusal) return { why: refusalWhy(problem.status), words: problem.message };
  if (problem instanceof RetryLater) return { why: "later", words: problem.message };
  if (problem instanceof HubheldError) {
    return { why: "no_answer", words: `The answer was not our server's: ${problem.message}` };
  }
  // A fault of our own must not end the sending: it is said, and tried again.
  return { why: "later", words: `A fault in the app kept it from sending: ${String(problem)}` };
}

function refusalWhy(status: number): Failure {
  if (status === BODY_TOO_LARGE) return "too_big";
  if (status === OUT_OF_STEP) return "out_of_step";
  return status >= SERVER_SIDE || status === TOO_MANY ? "later" : "refused";
}

/** The server holds more than we do: this tablet's store was set back. */
function showLoss(held: number, known: number): void {
  device.value = { ...device.value, phase: "lost_store", lostStored: { held, known } };
}
