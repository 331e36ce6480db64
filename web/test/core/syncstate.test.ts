/** Sending a log: whatever the network and the server do, in the end every entry is there once, and nothing is dropped. */
import * as fc from "fast-check";
import { describe, expect, it } from "vitest";

import {
  COUNT_MAX,
  delay_ms,
  initialSync,
  step,
  type Failure,
  type SyncCommand,
  type SyncMessage,
  type SyncState,
} from "../../src/core/syncstate.ts";

/** A server that holds a copy of one log; `fits` says whether a receipt names the device's own entries. */
class Server {
  held: string[] = [];

  take(from: number, entries: readonly string[]): Failure | null {
    if (from > this.held.length) return "out_of_step";
    const same = entries.slice(0, this.held.length - from);
    if (same.some((entry, at) => this.held[from + at] !== entry)) return "out_of_step";
    this.held = [...this.held, ...entries.slice(this.held.length - from)];
    return null;
  }
}

/** One window of the app: the state, what it asked for, and whether it waits for a timer. */
class Window {
  state: SyncState;
  request: SyncCommand | null = null;
  timer = false;

  constructor(
    readonly log: string[],
    readonly server: Server,
  ) {
    this.state = initialSync(log.length, 0);
  }

  tell(message: SyncMessage): void {
    const { state, commands } = step(this.state, message);
    this.state = state;
    for (const command of commands) {
      if (command.kind === "wait") this.timer = true;
      else {
        expect(this.request, "one request at a time").toBeNull();
        this.request = command;
      }
    }
  }

  fail(why: Failure): void {
    if (this.request === null) return;
    this.request = null;
    this.tell({ kind: "failed", why, random: 0.5 });
  }

  /** The server takes the request in; the answer may be lost, and the request may come twice. */
  deliver({ isAnswerLost, isTwice }: { isAnswerLost: boolean; isTwice: boolean }): void {
    const { request } = this;
    if (request === null || request.kind === "wait") return;
    for (let times = isTwice ? 2 : 1; times > 0; times -= 1) {
      const entries =
        request.kind === "send" ? this.log.slice(request.from, request.from + request.count) : [];
      const refusal = request.kind === "send" ? this.server.take(request.from, entries) : null;
      if (refusal !== null) return this.fail(refusal);
    }
    if (isAnswerLost) return this.fail("no_answer");
    this.request = null;
    const { held } = this.server;
    const n = held.length;
    this.tell({
      kind: "receipt",
      n,
      fits: n <= this.log.length && held.every((entry, at) => this.log[at] === entry),
    });
  }

  wakeFromTimer(): void {
    if (!this.timer) return;
    this.timer = false;
    this.tell({ kind: "wake" });
  }
}

type Action =
  | { readonly do: "append"; readonly count: number }
  | { readonly do: "wake" | "timer" }
  | { readonly do: "deliver"; readonly isAnswerLost: boolean; readonly isTwice: boolean }
  | { readonly do: "fail"; readonly why: Failure }
  | { readonly do: "restore"; readonly part: number };

const FAILURES: readonly Failure[] = ["no_answer", "later", "too_big", "refused", "out_of_step"];
const actions = fc.array(
  fc.oneof(
    fc.record({ do: fc.constant("append" as const), count: fc.integer({ min: 1, max: 700 }) }),
    fc.record({ do: fc.constantFrom("wake" as const, "timer" as const) }),
    fc.record({ do: fc.constant("deliver" as const), isAnswerLost: fc.boolean(), isTwice: fc.boolean() }),
    fc.record({ do: fc.constant("fail" as const), why: fc.constantFrom(...FAILURES) }),
    fc.record({ do: fc.constant("restore" as const), part: fc.double({ min: 0, max: 1, noNaN: true }) }),
  ),
  { maxLength: 60 },
);

function act(windows: readonly Window[], log: string[], server: Server, at: number, action: Action): void {
  const window = windows[at % windows.length];
  if (window === undefined) return;
  switch (action.do) {
    case "append":
      for (let count = action.count; count > 0; count -= 1) log.push(`entry ${log.length}`);
      for (const each of windows) each.tell({ kind: "stored", stored: log.length });
      break;
    case "wake":
      window.tell({ kind: "wake" });
      break;
    case "timer":
      window.wakeFromTimer();
      break;
    case "deliver":
      window.deliver(action);
      break;
    case "fail":
      window.fail(action.why);
      break;
    case "restore":
      server.held = server.held.slice(0, Math.floor(server.held.length * action.part));
      break;
  }
}

/** The network holds from now on: requests arrive, timers run out. */
function settle(windows: readonly Window[]): void {
  for (const window of windows) window.tell({ kind: "wake" });
  for (let round = 0; round < 2_000; round += 1) {
    const busy = windows.filter(({ request, timer }) => request !== null || timer);
    if (busy.length === 0) return;
    for (const window of busy) {
      if (window.request === null) window.wakeFromTimer();
      else window.deliver({ isAnswerLost: false, isTwice: false });
    }
  }
  throw new Error("the windows never came to rest");
}

describe("sending", () => {
  it("ends with every entry on the server once, whatever went wrong before, from one window or two", () => {
    fc.assert(
      fc.property(actions, fc.integer({ min: 1, max: 2 }), (done, count) => {
        const log: string[] = [];
        const server = new Server();
        const windows = Array.from({ length: count }, () => new Window(log, server));
        for (const [at, action] of done.entries()) {
          act(windows, log, server, at, action);
          expect(server.held, "a prefix of the log").toEqual(log.slice(0, server.held.length));
        }
        settle(windows);
        expect(server.held).toEqual(log);
        for (const { state } of windows) {
          expect(state).toMatchObject({ stored: log.length, received: log.length, stop: null, asked: null });
        }
      }),
      { numRuns: 300 },
    );
  });

  it("stops, and drops nothing, where the server holds another history", () => {
    fc.assert(
      fc.property(actions, fc.nat({ max: 50 }), (done, at) => {
        const log = Array.from({ length: 20 }, (_, seq) => `entry ${seq}`);
        const server = new Server();
        const window = new Window(log, server);
        window.tell({ kind: "wake" });
        window.deliver({ isAnswerLost: false, isTwice: false });
        server.held = [...log.slice(0, at % log.length), "another entry"];
        for (const [number, action] of done.entries()) {
          if (action.do !== "restore") act([window], log, server, number, action);
        }
        const mine = [...log];
        window.tell({ kind: "wake" });
        settle([window]);
        expect(window.state.stop).toBe("fork");
        expect(log).toEqual(mine);
        expect(server.held.at(-1)).toBe("another entry");
      }),
      { numRuns: 200 },
    );
  });

  it("goes on after a stop once the server's receipt fits again", () => {
    const stopped: SyncState = { ...initialSync(5, 5), stop: "fork" };
    const asked = step(stopped, { kind: "wake" });
    expect(asked.commands).toEqual([{ kind: "ask" }]);
    const heard = step(asked.state, { kind: "receipt", n: 3, fits: true });
    expect(heard.state.stop).toBeNull();
    expect(heard.commands).toEqual([{ kind: "send", from: 3, count: 2 }]);
  });

  it("sends from what the server says it has, even when that is less than before", () => {
    const asked = step(initialSync(9, 9), { kind: "wake" });
    const { state, commands } = step(asked.state, { kind: "receipt", n: 2, fits: true });
    expect(state.received).toBe(2);
    expect(commands).toEqual([{ kind: "send", from: 2, count: 7 }]);
  });

  it("does not take a receipt for more than was ever stored", () => {
    const asked = step(initialSync(2, 0), { kind: "wake" });
    expect(step(asked.state, { kind: "receipt", n: 3, fits: true }).state).toMatchObject({
      stop: "fork",
      received: 0,
    });
  });

  it("sends at most 500 entries at once and halves what failed, down to one", () => {
    let { state, commands } = step(step(initialSync(2_000, 0), { kind: "wake" }).state, {
      kind: "receipt",
      n: 0,
      fits: true,
    });
    expect(commands).toEqual([{ kind: "send", from: 0, count: COUNT_MAX }]);
    const counts: number[] = [];
    for (let failure = 0; failure < 12; failure += 1) {
      ({ state } = step(state, { kind: "failed", why: "refused", random: 0 }));
      ({ state } = step(state, { kind: "wake" }));
      ({ state, commands } = step(state, { kind: "receipt", n: 0, fits: true }));
      for (const command of commands) if (command.kind === "send") counts.push(command.count);
    }
    expect(counts).toEqual([250, 125, 62, 31, 15, 7, 3, 1, 1, 1, 1, 1]);
  });

  it("moves nothing on for an answer without a receipt", () => {
    const asked = step(initialSync(5, 1), { kind: "wake" });
    for (const why of FAILURES) {
      expect(step(asked.state, { kind: "failed", why, random: 0 }).state.received).toBe(1);
    }
  });

  it("waits longer after each failure, at most five minutes, and never the same for two tablets", () => {
    expect([1, 2, 3, 4].map((failures) => delay_ms(failures, 1))).toEqual([1_000, 2_000, 4_000, 8_000]);
    expect(delay_ms(50, 1)).toBe(300_000);
    expect(delay_ms(3, 0)).toBe(2_000);
  });

  it("does not hammer a server whose true receipts never move on", () => {
    const sending: SyncState = {
      ...initialSync(5, 0),
      isKnown: true,
      asked: { kind: "entries", from: 0, count: 5 },
    };
    const { commands } = step(sending, { kind: "receipt", n: 0, fits: true });
    expect(commands.map(({ kind }) => kind)).toEqual(["wait"]);
  });
});
