/**
 * The fold: signed events of a unit's logs in, one case file and what is known about it out.
 * The twin of server/core/case_fold.py; shared/vectors/fold holds the two together.
 *
 * Nothing is ever unjudgeable: what the case file cannot hold is left out of it, flagged and counted as unread.
 * The answer does not depend on the order in which entries arrive, on repeats or on pieces.
 */
import { checkCorrection, checkEvent } from "./caseEvent.ts";
import { byTime, type CaseEvent, type Plan } from "./caseFile.ts";
import { InvalidInput } from "./errors.ts";
import { decidingOpening, type Opening } from "./caseOpening.ts";
import { asText, isObject, type Json, type JsonObject } from "./json.ts";
import {
  aliasesOf,
  distinctEntries,
  ofLinkedCases,
  voidedIds,
  type FoldEntry,
  type TimedEntry,
} from "./logEvents.ts";
import type { Protocol } from "./protocol.ts";

export type { FoldEntry } from "./logEvents.ts";

/** A case file as JSON; core/caseFile.ts reads it. */
export interface CaseFileDocument extends JsonObject {
  readonly protocol: string;
  readonly case: string;
  readonly plan: Plan & JsonObject;
  readonly unit: JsonObject;
  readonly events: readonly CaseEvent[];
}

export interface SignOff {
  readonly id: string;
  readonly at_ms: number;
  readonly device: string;
  readonly digest: string;
  readonly statement: Json;
  readonly proof: Json;
}

/** What the log says of a case beside its case file. `entries` are digests, sorted, those of sign-offs left out. */
export interface CaseMeta {
  readonly case: string;
  readonly list: string | null;
  readonly date: string | null;
  readonly reference: string | null;
  readonly unit: string | null;
  readonly time_zone: string | null;
  readonly unit_values_number: number | null;
  readonly practice: boolean;
  readonly on_list: boolean;
  readonly opened_count: number;
  readonly moved_to: string | null;
  readonly not_operated: string | null;
  readonly sign_off: SignOff | null;
  readonly flags: readonly string[];
  readonly unread: number;
  readonly patient_in_ms: number | null;
  readonly patient_out_ms: number | null;
  readonly first_ms: number | null;
  readonly entries: readonly string[];
}

/** `caseFile` always reads; null where no plan was ever recorded, and for a case whose events were moved. */
export interface FoldedCase {
  readonly caseFile: CaseFileDocument | null;
  readonly meta: CaseMeta;
}

export const WITHHELD = "text withheld";
const TEAM_BRIEF = "team-brief";
const LOG_ONLY: ReadonlySet<string> = new Set(["case_opened", "case_moved", "not_operated", "sign_off"]);
const LOG_FIELDS: ReadonlySet<string> = new Set(["case", "list", "clock", "staff"]);

/** What was found amiss while folding. */
class Findings {
  readonly flags = new Set<string>();
  unread = 0;

  add(flag: string, count = 1): void {
    if (count === 0) return;
    this.flags.add(flag);
    this.unread += count;
  }

  /** The value that `read` returns, or null where it is refused: then it is unread. */
  readable<T>(read: () => T): T | null {
    try {
      return read();
    } catch (refusal) {
      if (!(refusal instanceof InvalidInput)) throw refusal;
      this.add("unreadable_event");
      return null;
    }
  }
}

/** Folds the entries that name the case, its list, or a move from or to it; others make no difference. */
export function fold(entries: readonly FoldEntry[], caseId: string, protocol: Protocol): FoldedCase {
  const findings = new Findings();
  const linked = distinctEntries(ofLinkedCases(entries, caseId));
  const voided = voidedIds(linked.timed);
  const { names, movedTo, isRing } = aliasesOf(linked.timed, voided, caseId);
  if (isRing) findings.flags.add("move_ignored");
  if (movedTo !== null)
    return { caseFile: null, meta: { ...emptyMeta(caseId), moved_to: movedTo, flags: [...findings.flags] } };
  const isOwn = ({ event }: FoldEntry) => typeof event["case"] === "string" && names.has(event["case"]);
  const own = linked.timed.filter(isOwn);
  const opening = decidingOpening(own, caseId, protocol);
  findings.add("unreadable_event", opening.unreadable);
  if (opening.differs) findings.flags.add("opened_differently");
  const list = opening.first?.list ?? null;
  const listed = distinctEntries(entries.filter(({ event }) => isOfList(event, list)));
  const brief = briefOf(listed.timed);
  const unordered = [
    ...linked.unordered.filter(isOwn),
    ...listed.unordered.filter(({ event }) => isBrief(event)),
  ];
  findings.add("unreadable_event", unordered.length);
  const isCopied = ({ event }: FoldEntry) => brief.some((copy) => copy.event.id === event.id);
  findings.add(
    "conflicting_id",
    linked.conflicts.filter(({ held, other }) => isOwn(held) || isOwn(other)).length +
      listed.conflicts.filter(({ held }) => isCopied(held)).length,
  );
  const texts = new Map(entries.flatMap((entry) => [...entry.texts]));
  const signOffs = signOffsOf(own, voided, findings, protocol);
  const events = fitting(
    [...caseEvents(own, brief, texts, findings, protocol), ...signOffs.records],
    findings,
    protocol,
  );
  const meta = {
    ...emptyMeta(caseId),
    ...metaOfOpening(opening.first),
    opened_count: opening.count,
    not_operated: lastReason(own, voided),
    sign_off: signOffs.last,
    ...momentsOf(events, own),
    entries: digestsOf([...own, ...unordered, ...brief]),
    flags: [...findings.flags].toSorted(),
    unread: findings.unread,
  };
  return { caseFile: opening.first === null ? null : documentOf(caseId, opening.first, events), meta };
}

function emptyMeta(caseId: string): CaseMeta {
  return {
    case: caseId,
    list: null,
    date: null,
    reference: null,
    unit: null,
    time_zone: null,
    unit_values_number: null,
    practice: false,
    on_list: false,
    opened_count: 0,
    moved_to: null,
    not_operated: null,
    sign_off: null,
    flags: [],
    unread: 0,
    patient_in_ms: null,
    patient_out_ms: null,
    first_ms: null,
    entries: [],
  };
}

function metaOfOpening(first: Opening | null): Partial<CaseMeta> {
  if (first === null) return {};
  const { list, date, reference, unit, time_zone, unit_values_number, practice, on_list } = first;
  return { list, date, reference, unit, time_zone, unit_values_number, practice, on_list };
}

function documentOf(
  caseId: string,
  { protocol, plan, values }: Opening,
  events: readonly CaseEvent[],
): CaseFileDocument {
  return { protocol, case: caseId, plan, unit: values, events };
}

function isOfList(event: JsonObject, list: string | null): boolean {
  return list !== null && event["list"] === list && !Object.hasOwn(event, "case");
}

function isBrief({ type, step }: JsonObject): boolean {
  return type === "step" && step === TEAM_BRIEF;
}

/** The list's team brief and the corrections of it, which belong to each of its cases. */
function briefOf(listed: readonly TimedEntry[]): readonly TimedEntry[] {
  const briefs = listed.filter(({ event }) => isBrief(event));
  const ids = new Set<unknown>(briefs.map(({ event }) => event.id));
  return [...briefs, ...listed.filter(({ event }) => event.type === "correct" && ids.has(event["corrects"]))];
}

/** Events as they stand in a case file, those of the list under ids of their own. */
function caseEvents(
  own: readonly TimedEntry[],
  brief: readonly TimedEntry[],
  texts: ReadonlyMap<string, string>,
  findings: Findings,
  protocol: Protocol,
): readonly CaseEvent[] {
  const owned = own.filter(({ event }) => !LOG_ONLY.has(event.type)).map((entry) => plain(entry, texts));
  const copies = brief.map((entry) => copied(plain(entry, texts)));
  return [...owned, ...copies].flatMap(
    (event) => findings.readable(() => checkEvent(event, "event", protocol)) ?? [],
  );
}

function copied(event: JsonObject): JsonObject {
  const { id, corrects } = event;
  return {
    ...event,
    id: `list-${asText(id)}`,
    ...(typeof corrects === "string" ? { corrects: `list-${corrects}` } : {}),
  };
}

function plain({ event, instants }: TimedEntry, texts: ReadonlyMap<string, string>): JsonObject {
  const kept = Object.entries(event).filter(([name]) => !LOG_FIELDS.has(name));
  return { ...Object.fromEntries(kept.map(([name, value]) => [name, unsealed(value, texts)])), ...instants };
}

/** Every sealed text opened, where it was not withheld. */
function unsealed(value: Json, texts: ReadonlyMap<string, string>): Json {
  if (Array.isArray(value)) return value.map((child: Json) => unsealed(child, texts));
  if (!isObject(value)) return value;
  const members = Object.entries(value);
  const sealed = members.length === 1 ? value["sha256"] : undefined;
  if (typeof sealed === "string") return texts.get(sealed) ?? WITHHELD;
  return Object.fromEntries(members.map(([name, child]) => [name, unsealed(child, texts)]));
}

interface SignOffs {
  readonly last: SignOff | null;
  /** Each sign-off as the record of the surgeon's own step. */
  readonly records: readonly CaseEvent[];
}

function signOffsOf(
  own: readonly TimedEntry[],
  voided: ReadonlySet<string>,
  findings: Findings,
  protocol: Protocol,
): SignOffs {
  const given = own.filter(({ event }) => event.type === "sign_off");
  const read = given.flatMap((entry) => {
    const record = findings.readable(() => checkEvent(signOffRecord(entry), "event", protocol));
    return record === null ? [] : [{ entry, record }];
  });
  const last = read.findLast(({ record }) => !voided.has(record.id));
  return {
    last: last === undefined ? null : signOffOf(last.entry),
    records: read.map(({ record }) => record),
  };
}

function signOffRecord({ event, instants }: TimedEntry): JsonObject {
  const said = { said_by: "surgeon", entered_by: "surgeon" };
  return { id: event.id, type: "step", step: "surgeon-sign-off", ...instants, ...said, value: {} };
}

function signOffOf({ device, digest, event, instants }: TimedEntry): SignOff {
  const { statement = null, proof = null } = event;
  return { id: event.id, at_ms: instants.at_ms, device, digest, statement, proof };
}

/** Leaves out corrections that do not fit what they correct, and a copy whose id is taken already. */
function fitting(events: readonly CaseEvent[], findings: Findings, protocol: Protocol): readonly CaseEvent[] {
  const byId = new Map<string, CaseEvent>();
  for (const event of events) {
    if (byId.has(event.id)) findings.add("conflicting_id");
    else byId.set(event.id, event);
  }
  const kept = [...byId.values()].filter((event) => {
    if (event.type !== "correct") return true;
    const target = byId.get(asText(event["corrects"]));
    const read = () => {
      checkCorrection(event, target, "event", protocol);
      return true;
    };
    return findings.readable(read) ?? false;
  });
  return kept.toSorted(byTime);
}

function lastReason(own: readonly TimedEntry[], voided: ReadonlySet<string>): string | null {
  const last = own.findLast(({ event }) => event.type === "not_operated" && !voided.has(event.id));
  if (last === undefined) return null;
  return typeof last.event["reason"] === "string" ? last.event["reason"] : "other";
}

/** First patient-in and patient-out that were not voided, and the earliest time of all. */
function momentsOf(
  events: readonly CaseEvent[],
  own: readonly TimedEntry[],
): Pick<CaseMeta, "patient_in_ms" | "patient_out_ms" | "first_ms"> {
  const voided = voidedIds(events.map((event) => ({ event, instants: event })));
  const first = (moment: string) =>
    events.find((event) => event.type === "room" && event["moment"] === moment && !voided.has(event.id))
      ?.at_ms ?? null;
  return {
    patient_in_ms: first("patient_in"),
    patient_out_ms: first("patient_out"),
    first_ms: own[0]?.instants.at_ms ?? null,
  };
}

function digestsOf(entries: readonly FoldEntry[]): readonly string[] {
  return entries
    .filter(({ event }) => event.type !== "sign_off")
    .map(({ digest }) => digest)
    .toSorted();
}
