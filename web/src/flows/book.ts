/** The entries of this tablet in memory, read from the store once and added to with every tap; by case and by list. */
import { readEntry, type LogEvent } from "../core/entry.ts";
import type { FoldEntry } from "../core/caseFold.ts";
import { instantsOf } from "../core/instant.ts";
import type { EntryStore } from "../device/log.ts";
import type { StoredEntry } from "../device/rows.ts";

const PAGE = 500;
/** Older cases are on the server; what is unsent is sent from the store, whatever its age. */
const SPAN_MS = 7 * 24 * 3_600_000;
/** A day or two, read whatever the clock said: a clock that was set must not empty the screen. */
const AT_LEAST = 1_000;

export class Book {
  private readonly bySubject = new Map<string, FoldEntry[]>();
  private readonly moves: FoldEntry[] = [];
  private readonly openedOn = new Map<string, Set<string>>();
  /** For each device the next entry to read. */
  private readonly next = new Map<string, number>();

  constructor(private readonly store: EntryStore) {}

  /** Reads what was stored since the last time; the first time, the last week. Returns the subjects that changed. */
  async refresh(device: string): Promise<ReadonlySet<string>> {
    const changed = new Set<string>();
    const from = this.next.get(device) ?? (await this.firstOf(device));
    for (let at = from; ; at += PAGE) {
      const page = await this.store.read(device, at, PAGE);
      for (const row of page) {
        const subject = this.add(entryOf(row));
        if (subject !== null) changed.add(subject);
      }
      if (page.length < PAGE) return changed;
    }
  }

  /** The number of the next entry of a device that is not here yet. */
  nextOf(device: string): number {
    return this.next.get(device) ?? 0;
  }

  /** Adds one entry, if it is not here yet. Returns the case or the list that it names. */
  add(entry: FoldEntry): string | null {
    if (entry.seq < this.nextOf(entry.device)) return null;
    this.next.set(entry.device, entry.seq + 1);
    const subject = subjectOf(entry.event);
    if (subject === null) return null;
    const held = this.bySubject.get(subject);
    if (held === undefined) this.bySubject.set(subject, [entry]);
    else held.push(entry);
    const { type, list } = entry.event;
    if (type === "case_moved") this.moves.push(entry);
    if (type === "case_opened" && typeof list === "string") {
      this.openedOn.set(list, (this.openedOn.get(list) ?? new Set()).add(subject));
    }
    return subject;
  }

  /** Entries that name this case or list themselves. */
  of(subject: string): readonly FoldEntry[] {
    return this.bySubject.get(subject) ?? [];
  }

  /** The cases that change when these subjects do: themselves, those tied to them by moves, those of a list. */
  casesTouched(subjects: Iterable<string>): ReadonlySet<string> {
    const touched = [...subjects].flatMap((subject) => [subject, ...(this.openedOn.get(subject) ?? [])]);
    const tied = new Set(touched.flatMap((subject) => [...this.tiedTo(subject)]));
    return new Set(
      [...tied].filter((subject) => this.of(subject).some(({ event }) => event["case"] === subject)),
    );
  }

  /** What the fold of one case needs: its own entries, those of cases tied to it by moves, and those of its list. */
  about(caseId: string): readonly FoldEntry[] {
    const own = [...this.tiedTo(caseId)].flatMap((name) => this.of(name));
    const lists = new Set(
      own.flatMap(({ event }) => (typeof event["list"] === "string" ? [event["list"]] : [])),
    );
    return [...own, ...[...lists].flatMap((list) => this.of(list))];
  }

  private tiedTo(caseId: string): ReadonlySet<string> {
    const tied = new Set([caseId]);
    for (let size = 0; size !== tied.size;) {
      size = tied.size;
      for (const { event } of this.moves) {
        const { case: from, to } = event;
        if (typeof from !== "string" || typeof to !== "string") continue;
        if (tied.has(from) || tied.has(to)) tied.add(from).add(to);
      }
    }
    return tied;
  }

  /** Backwards from the end, page by page, until one ends before the span begins. */
  private async firstOf(device: string): Promise<number> {
    const head = await this.store.head(device);
    let first = head?.seq ?? 0;
    let newest_ms: number | null = null;
    while (first > 0) {
      const from = Math.max(0, first - PAGE);
      const [last] = await this.store.read(device, first - 1, 1);
      const last_ms = last === undefined ? 0 : enteredOf(last);
      newest_ms ??= last_ms;
      const isOld = last_ms < newest_ms - SPAN_MS;
      if (isOld && (head?.seq ?? 0) - first >= AT_LEAST) return first;
      first = from;
    }
    return 0;
  }
}

function enteredOf(row: StoredEntry): number {
  return instantsOf(entryOf(row).event["clock"])?.entered_ms ?? 0;
}

/** The case or the list that an event names. */
export function subjectOf(event: LogEvent): string | null {
  const subject = event["case"] ?? event["list"];
  return typeof subject === "string" ? subject : null;
}

/** A stored row as the fold takes it. */
export function entryOf({ jws, digest, texts }: StoredEntry): FoldEntry {
  const { device, seq, event } = readEntry(jws, digest);
  return { device, seq, digest, event, texts: new Map(texts.map(({ sha256, text }) => [sha256, text])) };
}
