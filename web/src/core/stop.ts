/**
 * STOP: whether a new record would raise, newly or again, what the protocol says must stop (its `stops`).
 *
 * It judges the open case with and without the record and decides nothing itself. The record is stored either way.
 */
import { read, type CaseEvent } from "./caseFile.ts";
import type { CaseFileDocument } from "./caseFold.ts";
import { isObject, type Json, type JsonObject } from "./json.ts";
import type { Deviation } from "./judge/deviation.ts";
import { judge } from "./judge/judge.ts";
import type { Protocol } from "./protocol.ts";

/** `step` is where the deviation stands: that of the record, or a step whose reference the record has changed. */
export interface Stop extends Pick<Deviation, "kind" | "step" | "grade" | "detail"> {
  /** The value as it was read. */
  readonly read: JsonObject;
}

/** What stops at `event`, the worst first; null where nothing does. Raises InvalidInput for an event that is none. */
export function wouldStop(protocol: Protocol, caseFile: CaseFileDocument, event: CaseEvent): Stop | null {
  const before = stopping(protocol, caseFile, caseFile.events);
  const after = stopping(protocol, caseFile, [...caseFile.events, event]);
  const alone = stopping(protocol, caseFile, [
    ...caseFile.events.filter((other) => !isRepeated(other, event)),
    event,
  ]);
  const raised = after.filter((found) => isNew(found, before) || isAgain(found, event, alone));
  const [worst] = raised.toSorted((a, b) => (a.grade === b.grade ? 0 : a.grade > b.grade ? -1 : 1));
  if (worst === undefined) return null;
  const { kind, step, grade, detail } = worst;
  return { kind, step, grade, detail, read: valueOf(event["value"]) };
}

function stopping(
  protocol: Protocol,
  caseFile: CaseFileDocument,
  events: readonly CaseEvent[],
): readonly Deviation[] {
  const { deviations } = judge(read({ ...caseFile, events }, protocol), protocol, { isOpen: true });
  return deviations.filter(
    ({ kind, step }) => protocol.stops.includes(kind) || protocol.stops.includes(`${kind}:${step}`),
  );
}

/** Not there before, or worse than before, or (doses that add up) as bad but about more. */
function isNew(found: Deviation, before: readonly Deviation[]): boolean {
  const earlier = before.find(({ key }) => key === found.key);
  if (earlier === undefined || found.grade > earlier.grade) return true;
  return found.kind === "dose" && found.grade === earlier.grade && found.detail !== earlier.detail;
}

/** Raised by this record even if it were the only one of its step. */
function isAgain(found: Deviation, event: CaseEvent, alone: readonly Deviation[]): boolean {
  return found.step === event["step"] && alone.some(({ key }) => key === found.key);
}

function isRepeated(other: CaseEvent, event: CaseEvent): boolean {
  return event.type === "step" && other.type === "step" && other["step"] === event["step"];
}

function valueOf(value: Json | undefined): JsonObject {
  return isObject(value) ? value : {};
}
