/**
 * The case file as a person looks at it: each event once with its corrections applied, the first entry kept visible.
 * It judges nothing; core/caseFile.ts reads the same events for the judge.
 */

import type { CaseEvent } from "../../core/caseFile.ts";
import { isObject, type Json, type JsonObject } from "../../core/json.ts";
import { textsOf } from "../format/jsonParts.ts";

export type Value = JsonObject;

/** `first`: the value as entered; `value`: as it stands now; `voided`: taken back by a correction. */
export interface Entry {
  readonly id: string;
  readonly type: string;
  readonly step: string | null;
  readonly at_ms: number;
  readonly entered_ms: number;
  readonly first: Value;
  readonly value: Value;
  readonly corrected: boolean;
  readonly voided: boolean;
  readonly event: CaseEvent;
}

/** Entries (corrections folded in) in order of at_ms, then id. */
export function ledgerOf(events: readonly CaseEvent[]): readonly Entry[] {
  const corrections = lastCorrections(events);
  const seen = new Map(events.filter((event) => event.type !== "correct").map((event) => [event.id, event]));
  return [...seen.values()].map((event) => entryOf(event, corrections.get(event.id))).toSorted(byTime);
}

function lastCorrections(events: readonly CaseEvent[]): Map<string, CaseEvent> {
  const last = new Map<string, CaseEvent>();
  for (const event of events) {
    const target = event["corrects"];
    if (event.type !== "correct" || typeof target !== "string") continue;
    const other = last.get(target);
    if (!other || isLater(event, other)) last.set(target, event);
  }
  return last;
}

function isLater(event: CaseEvent, other: CaseEvent): boolean {
  if (event.entered_ms !== other.entered_ms) return event.entered_ms > other.entered_ms;
  return event.id > other.id;
}

function byTime(a: Entry, b: Entry): number {
  if (a.at_ms !== b.at_ms) return a.at_ms - b.at_ms;
  return a.id < b.id ? -1 : 1;
}

function entryOf(event: CaseEvent, correction: CaseEvent | undefined): Entry {
  const first = objectOf(event["value"]);
  return {
    id: event.id,
    type: event.type,
    step: typeof event["step"] === "string" ? event["step"] : null,
    at_ms: event.at_ms,
    entered_ms: event.entered_ms,
    first,
    value: correction?.["value"] === undefined ? first : objectOf(correction["value"]),
    corrected: correction?.["value"] !== undefined,
    voided: correction?.["void"] === true,
    event,
  };
}

function objectOf(value: Json | undefined): Value {
  return isObject(value) ? value : {};
}

/** Effective records of a step, in order; the last one stands. */
export function recordsOf(ledger: readonly Entry[], step: string): readonly Entry[] {
  return ledger.filter((entry) => entry.type === "step" && entry.step === step && !entry.voided);
}

export function lastRecord(ledger: readonly Entry[], step: string): Entry | null {
  return recordsOf(ledger, step).at(-1) ?? null;
}

/** True when a not-done of the step stands and was not taken back. */
export function isNotDone(ledger: readonly Entry[], step: string): boolean {
  return ledger.some((entry) => entry.type === "not_done" && entry.step === step && !entry.voided);
}

/** True when the room event stands (the patient came in, or left). */
export function hasMoment(ledger: readonly Entry[], moment: string): boolean {
  return ledger.some((entry) => entry.type === "room" && entry.event["moment"] === moment && !entry.voided);
}

const SHOWN_ABOVE = new Set(["step", "not_done", "room", "fault", "breach", "complication"]);

/** What was entered last by a person in the room (answers of the review excepted), or null. */
export function lastEntered(ledger: readonly Entry[]): Entry | null {
  const shown = ledger.filter((entry) => SHOWN_ABOVE.has(entry.type) && entry.step !== "surgeon-sign-off");
  return shown.toSorted((a, b) => a.entered_ms - b.entered_ms || (a.id < b.id ? -1 : 1)).at(-1) ?? null;
}

/** The step that was entered last, taken back or not; or null. */
export function lastStepEntered(ledger: readonly Entry[]): Entry | null {
  return lastEntered(ledger.filter(({ type }) => type === "step"));
}

/** Texts of every allergies record, as the judge takes them: all that stand in any. */
export function allergiesOf(ledger: readonly Entry[]): ReadonlySet<string> {
  return new Set(recordsOf(ledger, "allergies").flatMap((entry) => textsOf(entry.value["allergies"])));
}
