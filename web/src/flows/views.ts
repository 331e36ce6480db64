/** From entries to what the screens show: each touched case folded and judged anew, and the lists' own records. */
import { read } from "../core/caseFile.ts";
import { fold, type CaseFileDocument, type CaseMeta } from "../core/caseFold.ts";
import { judge } from "../core/judge/judge.ts";
import { distinctEntries, voidedIds, type FoldEntry } from "../core/logEvents.ts";
import { isSignedBeforeLater } from "../core/statement.ts";
import type { Protocol } from "../core/protocol.ts";
import { cases, lists, type CaseView, type TheatreList } from "../state/index.ts";
import type { Book } from "./book.ts";

/** Entries that the server has received, by device. */
export type Received = ReadonlyMap<string, number>;

/** Puts the views of these subjects, and of the cases that hang on them, in place. */
export function showSubjects(
  book: Book,
  received: Received,
  protocol: Protocol,
  subjects: Iterable<string>,
): void {
  const shown = new Map(cases.value);
  for (const caseId of book.casesTouched(subjects)) {
    const view = viewOf(book, received, protocol, caseId);
    if (view === null) shown.delete(caseId);
    else shown.set(caseId, view);
  }
  cases.value = shown;
  lists.value = lists.value.map((list) => withRecords(book, list));
}

/** Puts in place which cases the server has received whole. */
export function showReceived(book: Book, received: Received): void {
  const shown = [...cases.value].map(([caseId, view]): [string, CaseView] => {
    const receivedAll = isReceived(book.of(caseId), received);
    return [caseId, receivedAll === view.receivedAll ? view : { ...view, receivedAll }];
  });
  cases.value = new Map(shown);
}

function viewOf(book: Book, received: Received, protocol: Protocol, caseId: string): CaseView | null {
  const entries = book.about(caseId);
  const { caseFile, meta } = fold(entries, caseId, protocol);
  // A moved case is shown as it stood before it was moved.
  const shown = meta.moved_to === null ? caseFile : fold(entries.filter(isNoMove), caseId, protocol).caseFile;
  if (shown === null) return null;
  return {
    caseId,
    caseFile: shown,
    ...judged(shown, protocol),
    ...standing(book, entries, meta, received, caseId),
  };
}

function isNoMove({ event }: FoldEntry): boolean {
  return event.type !== "case_moved";
}

function judged(document: CaseFileDocument, protocol: Protocol): Pick<CaseView, "open" | "closed"> {
  const file = read(document, protocol);
  return {
    open: judge(file, protocol, { isOpen: true }),
    closed: judge(file, protocol, { withoutSignOff: true }),
  };
}

function standing(
  book: Book,
  entries: readonly FoldEntry[],
  meta: CaseMeta,
  received: Received,
  caseId: string,
): Pick<CaseView, "meta" | "receivedAll" | "signedBeforeLater"> {
  const { date, reference, time_zone } = meta;
  return {
    meta: { ...meta, date: date ?? "", reference: reference ?? caseId, time_zone: time_zone ?? "UTC" },
    receivedAll: isReceived(book.of(caseId), received),
    signedBeforeLater: meta.sign_off !== null && isSignedBeforeLater(entries, meta, meta.sign_off),
  };
}

/** An event that was carried over to a new device's log counts as received when either copy is. */
function isReceived(own: readonly FoldEntry[], received: Received): boolean {
  const here = own.filter(({ device, seq }) => seq < (received.get(device) ?? 0));
  const ids = new Set(here.map(({ event }) => event.id));
  return own.every(({ event }) => ids.has(event.id));
}

/** The list with the times of its brief and debrief, as they stand here. */
export function withRecords(book: Book, list: TheatreList): TheatreList {
  const { timed } = distinctEntries(book.of(list.list));
  const voided = voidedIds(timed);
  const at_ms = (step: string) =>
    timed.find(({ event }) => event.type === "step" && event["step"] === step && !voided.has(event.id))
      ?.instants.at_ms ?? null;
  return { ...list, brief_ms: at_ms("team-brief"), debrief_ms: at_ms("list-debrief") };
}

/** Open: being recorded now. It holds back a new version of the app, and keeps the clock's offset steady. */
export function isOpen({ meta }: CaseView, now_ms: number): boolean {
  const isOver = meta.sign_off !== null || meta.patient_out_ms !== null;
  const isElsewhere = meta.moved_to !== null || meta.not_operated !== null;
  return !isOver && !isElsewhere && now_ms - (meta.first_ms ?? 0) < OPEN_AT_MOST_MS;
}

// A case that nobody closed must not hold back a new version for ever.
const OPEN_AT_MOST_MS = 12 * 3_600_000;
