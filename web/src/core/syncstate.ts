/**
 * How a device's log reaches the server: step(state, message) gives the next state and what to do. Nothing else decides.
 *
 * 1. Only a receipt moves `received`: signed by the server's key, and naming our own entry as its head (`fits`).
 * 2. An answer without a signature (a problem, a portal's page) at most makes us ask again or wait. It drops nothing.
 * 3. A failed upload is halved and sent again, for ever; a receipt that does not fit our log stops, and keeps all.
 */

/** `fork`: the server holds other entries than we do. */
export type Stop = "fork";

export interface SyncState {
  /** Entries in our log. */
  readonly stored: number;
  /** Entries for which the last receipt vouches. It falls when the server was set back. */
  readonly received: number;
  /** True once a receipt came since the start of the page: we know where to go on from. */
  readonly isKnown: boolean;
  /** What is on its way: nothing, the question how far the server is, or entries. */
  readonly asked:
    | null
    | { readonly kind: "status" }
    | { readonly kind: "entries"; readonly from: number; readonly count: number };
  /** Entries in the next upload at most. */
  readonly count_max: number;
  /** Failures since the last receipt that moved things on. */
  readonly failures: number;
  readonly isWaiting: boolean;
  readonly stop: Stop | null;
}

export type SyncMessage =
  /** The log has grown (or is known) to this many entries. */
  | { readonly kind: "stored"; readonly stored: number }
  /** Start, network regained, page visible, by hand, or the wait is over. */
  | { readonly kind: "wake" }
  /** A verified receipt. `fits`: its head is the digest of our own entry n - 1. */
  | { readonly kind: "receipt"; readonly n: number; readonly fits: boolean }
  /** No receipt came. `too_big`: the body was refused for its size. `random`: 0 to 1, for the wait. */
  | { readonly kind: "failed"; readonly why: Failure; readonly random: number };

/**
 * `no_answer`: nothing, or nothing signed; `later`: the server cannot now; `too_big`; `refused`: entries were refused;
 * `out_of_step`: the server says, unsigned, that it stands elsewhere.
 */
export type Failure = "no_answer" | "later" | "too_big" | "refused" | "out_of_step";

export type SyncCommand =
  | { readonly kind: "ask" }
  /** `count` at most; fewer where the body would grow too large. */
  | { readonly kind: "send"; readonly from: number; readonly count: number }
  | { readonly kind: "wait"; readonly delay_ms: number };

export interface Step {
  readonly state: SyncState;
  readonly commands: readonly SyncCommand[];
}

export const COUNT_MAX = 500;
const FIRST_WAIT_MS = 1_000;
const LONGEST_WAIT_MS = 300_000;

export function initialSync(stored: number, received: number): SyncState {
  return {
    stored,
    received,
    isKnown: false,
    asked: null,
    count_max: COUNT_MAX,
    failures: 0,
    isWaiting: false,
    stop: null,
  };
}

export function step(state: SyncState, message: SyncMessage): Step {
  switch (message.kind) {
    case "stored":
      return goOn({ ...state, stored: message.stored });
    case "wake":
      return state.asked === null ? ask({ ...state, isWaiting: false }) : same(state);
    case "receipt":
      return onReceipt(state, message.n, message.fits);
    case "failed":
      return onFailure(state, message.why, message.random);
  }
}

function same(state: SyncState): Step {
  return { state, commands: [] };
}

function ask(state: SyncState): Step {
  return { state: { ...state, asked: { kind: "status" } }, commands: [{ kind: "ask" }] };
}

/** Sends what is not received yet, if nothing is on its way and nothing stands against it. */
function goOn(state: SyncState): Step {
  if (state.asked !== null || state.isWaiting || state.stop !== null) return same(state);
  if (!state.isKnown) return ask(state);
  if (state.received >= state.stored) return same(state);
  const from = state.received;
  const count = Math.min(state.count_max, state.stored - from);
  return {
    state: { ...state, asked: { kind: "entries", from, count } },
    commands: [{ kind: "send", from, count }],
  };
}

function onReceipt(state: SyncState, n: number, fits: boolean): Step {
  const { asked } = state;
  if (!fits || n > state.stored) return same({ ...state, asked: null, isKnown: false, stop: "fork" });
  const isStuck = asked?.kind === "entries" && n <= asked.from;
  const next = { ...state, asked: null, received: n, isKnown: true, stop: null };
  // A receipt that vouches for no more than before we sent: true, but nothing moved on. Not at once again.
  if (isStuck) return waitAfter(next, asked, 0.5);
  const isDone = asked?.kind === "entries" || n >= state.stored;
  const count_max = asked?.kind === "entries" ? Math.min(COUNT_MAX, state.count_max * 2) : state.count_max;
  return goOn({ ...next, count_max, failures: isDone ? 0 : state.failures });
}

function onFailure(state: SyncState, why: Failure, random: number): Step {
  const { asked } = state;
  const next = { ...state, asked: null };
  // What is unsigned proves nothing, so the signed receipt is asked for; once, then with a wait between.
  if (why === "out_of_step" && state.failures === 0) return ask({ ...next, failures: 1 });
  return waitAfter(next, asked, random);
}

function waitAfter(state: SyncState, asked: SyncState["asked"], random: number): Step {
  const failures = state.failures + 1;
  const count_max = asked?.kind === "entries" ? Math.max(1, Math.floor(asked.count / 2)) : state.count_max;
  return {
    state: { ...state, failures, count_max, isWaiting: true },
    commands: [{ kind: "wait", delay_ms: delay_ms(failures, random) }],
  };
}

/** Doubles from one second to five minutes; the second half of it is left to chance, so that tablets spread out. */
export function delay_ms(failures: number, random: number): number {
  const full_ms = Math.min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** Math.min(failures - 1, 20));
  return Math.round(full_ms / 2 + (full_ms / 2) * random);
}
