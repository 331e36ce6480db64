/** What is tapped during a case, as events. Each promise resolves when its event is durable on this tablet. */
import type { Json, JsonObject } from "../core/json.ts";
import { session, type StoredEvent, type Tap } from "./session.ts";

/** A step was done, with what was read or measured. Free text in the value is sealed. */
export function recordStep(
  caseId: string,
  step: string,
  value: JsonObject,
  tap: Tap = {},
): Promise<StoredEvent> {
  return session().keep({ type: "step", case: caseId, step, value }, tap);
}

/** Honestly not done. `reason` is a code of the protocol; `text` says more. */
export function notDone(
  caseId: string,
  step: string,
  reason: string,
  text?: string,
  tap: Tap = {},
): Promise<StoredEvent> {
  return session().keep({ type: "not_done", case: caseId, step, reason, text }, tap);
}

export function room(
  caseId: string,
  moment: "patient_in" | "patient_out",
  tap: Tap = {},
): Promise<StoredEvent> {
  return session().keep({ type: "room", case: caseId, moment }, tap);
}

export function fault(
  caseId: string,
  stage: "before" | "during",
  text?: string,
  tap: Tap = {},
): Promise<StoredEvent> {
  return session().keep({ type: "fault", case: caseId, stage, text }, tap);
}

export function breach(
  caseId: string,
  reachedEye: boolean,
  text?: string,
  tap: Tap = {},
): Promise<StoredEvent> {
  return session().keep({ type: "breach", case: caseId, reached_eye: reachedEye, text }, tap);
}

/** `what` is a code of the protocol's complications, or "other". */
export function complication(
  caseId: string,
  what: string,
  text?: string,
  tap: Tap = {},
): Promise<StoredEvent> {
  return session().keep({ type: "complication", case: caseId, what, text }, tap);
}

/** The whole new value of a step; the first entry stays visible. */
export function correctValue(caseId: string, eventId: string, value: JsonObject): Promise<StoredEvent> {
  return session().keep({ type: "correct", case: caseId, corrects: eventId, value });
}

/** Takes an event of any type back; it stays visible, struck through. */
export function takeBack(caseId: string, eventId: string): Promise<StoredEvent> {
  return session().keep({ type: "correct", case: caseId, corrects: eventId, void: true });
}

/** The surgeon's word on one deviation, for the grade that it had when it was answered. */
export function answer(
  caseId: string,
  deviation: string,
  grade: string,
  answers: Readonly<Record<string, Json | undefined>>,
): Promise<StoredEvent> {
  return session().keep(
    { ...answers, type: "answer", case: caseId, deviation, grade },
    { entered_by: "surgeon" },
  );
}

/** The case was opened on the wrong slot: all its events belong to the case `to`. */
export function moveCase(caseId: string, to: string): Promise<StoredEvent> {
  return session().keep({ type: "case_moved", case: caseId, to });
}

export function notOperated(caseId: string, reason: string, text?: string): Promise<StoredEvent> {
  return session().keep({ type: "not_operated", case: caseId, reason, text });
}

/** The team brief and the debrief are recorded once for a list. */
export function recordOfList(
  listId: string,
  step: string,
  value: JsonObject,
  tap: Tap = {},
): Promise<StoredEvent> {
  return session().keep({ type: "step", list: listId, step, value }, tap);
}

export function takeBackOfList(listId: string, eventId: string): Promise<StoredEvent> {
  return session().keep({ type: "correct", list: listId, corrects: eventId, void: true });
}
