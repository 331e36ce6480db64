/** Events of several logs as one: each id once, in order, with what was voided and what was moved. */
import { canonicalText } from "./canonical.ts";
import { ID } from "./caseEvent.ts";
import { byTime } from "./caseFile.ts";
import type { LogEvent } from "./entry.ts";
import { instantsOf, type Instants } from "./instant.ts";
import { asText, type JsonObject } from "./json.ts";

/** One event as it stands in a log. `texts`: sealed digest to the text that was kept beside it. */
export interface FoldEntry {
  readonly device: string;
  readonly seq: number;
  readonly digest: string;
  readonly event: LogEvent;
  readonly texts: ReadonlyMap<string, string>;
}

export interface TimedEntry extends FoldEntry {
  readonly instants: Instants;
}

export interface DistinctEntries {
  /** In order of at_ms, then id. */
  readonly timed: readonly TimedEntry[];
  /** Their clock or id cannot be read, so that they have no place in any order. */
  readonly unordered: readonly FoldEntry[];
  /** Another content under an id that is taken. */
  readonly conflicts: readonly { readonly held: FoldEntry; readonly other: FoldEntry }[];
}

/** Of several contents under one id the first by device and sequence number counts. */
export function distinctEntries(entries: readonly FoldEntry[]): DistinctEntries {
  const first = new Map<string, FoldEntry>();
  const others = new Map<string, { held: FoldEntry; other: FoldEntry }>();
  for (const entry of entries.toSorted(byDeviceAndSeq)) {
    const held = first.get(entry.event.id);
    if (held === undefined) first.set(entry.event.id, entry);
    else if (held.digest !== entry.digest) {
      const content = canonicalText(entry.event);
      if (content !== canonicalText(held.event)) others.set(content, { held, other: entry });
    }
  }
  const timed: TimedEntry[] = [];
  const unordered: FoldEntry[] = [];
  for (const entry of first.values()) {
    const instants = instantsOf(entry.event["clock"]);
    if (instants === null || !ID.test(entry.event.id)) unordered.push(entry);
    else timed.push({ ...entry, instants });
  }
  const order = (a: TimedEntry, b: TimedEntry) =>
    byTime({ id: a.event.id, ...a.instants }, { id: b.event.id, ...b.instants });
  return { timed: timed.toSorted(order), unordered, conflicts: [...others.values()] };
}

/** The entries that name the case, or a case that moves link to it, in whatever direction and however often. */
export function ofLinkedCases(entries: readonly FoldEntry[], caseId: string): readonly FoldEntry[] {
  const own = entries.filter(({ event }) => typeof event["case"] === "string");
  const moves = own
    .filter(({ event }) => event.type === "case_moved" && typeof event["to"] === "string")
    .map(({ event }) => [asText(event["case"]), asText(event["to"])] as const);
  const linked = new Set([caseId]);
  for (let reached = 0; reached < linked.size;) {
    reached = linked.size;
    for (const [from, to] of moves) if (linked.has(from) || linked.has(to)) linked.add(from).add(to);
  }
  return own.filter(({ event }) => linked.has(asText(event["case"])));
}

function byDeviceAndSeq(a: FoldEntry, b: FoldEntry): number {
  if (a.device !== b.device) return a.device < b.device ? -1 : 1;
  return a.seq - b.seq;
}

interface Stamped {
  readonly event: JsonObject;
  readonly instants: Pick<Instants, "entered_ms">;
}

/** Ids whose last correction, by entered_ms, then id, is a void. */
export function voidedIds(entries: readonly Stamped[]): ReadonlySet<string> {
  const last = new Map<string, Stamped>();
  for (const entry of entries) {
    const { type, corrects } = entry.event;
    if (type !== "correct" || typeof corrects !== "string") continue;
    const other = last.get(corrects);
    if (other === undefined || isLater(entry, other)) last.set(corrects, entry);
  }
  const voids = [...last].filter(([, { event }]) => event["void"] === true && !Object.hasOwn(event, "value"));
  return new Set(voids.map(([id]) => id));
}

function isLater(a: Stamped, b: Stamped): boolean {
  if (a.instants.entered_ms !== b.instants.entered_ms) return a.instants.entered_ms > b.instants.entered_ms;
  return asText(a.event["id"]) > asText(b.event["id"]);
}

export interface Aliases {
  /** The case ids whose events belong to the case; its own is one of them. */
  readonly names: ReadonlySet<string>;
  /** The case to which this one's events went. */
  readonly movedTo: string | null;
  /** True when a move that touches the case was ignored because it leads back to where it began. */
  readonly isRing: boolean;
}

/** Follows moves of whole cases. The last move of each case counts; one that leads into a ring is ignored. */
export function aliasesOf(
  timed: readonly TimedEntry[],
  voided: ReadonlySet<string>,
  caseId: string,
): Aliases {
  const moves = new Map<string, string>();
  for (const { event } of timed) {
    const { type, case: from, to } = event;
    if (type !== "case_moved" || voided.has(event.id)) continue;
    if (typeof from === "string" && typeof to === "string") moves.set(from, to);
  }
  const here = targetOf(caseId, moves);
  const others = [...moves.keys()].map((name) => ({ name, ...targetOf(name, moves) }));
  const names = others.filter(({ target }) => target === caseId).map(({ name }) => name);
  return {
    names: new Set([caseId, ...names]),
    movedTo: here.target === caseId ? null : here.target,
    isRing: here.isRing || others.some(({ isRing, path }) => isRing && path.includes(caseId)),
  };
}

interface Target {
  readonly target: string;
  readonly path: readonly string[];
  readonly isRing: boolean;
}

function targetOf(name: string, moves: ReadonlyMap<string, string>): Target {
  const path = [name];
  for (let at = name; ;) {
    const next = moves.get(at);
    if (next === undefined) return { target: at, path, isRing: false };
    if (path.includes(next)) return { target: name, path, isRing: true };
    path.push(next);
    at = next;
  }
}
