/** Which record of a case stops: the last one entered, unless it was kept, taken back, or read again. */
import { wouldStop } from "../../core/stop.ts";
import type { CaseEvent } from "../../core/caseFile.ts";
import { isObject } from "../../core/json.ts";
import type { Step } from "../../core/protocol.ts";
import type { Entry, Value } from "./ledger.ts";
import { lastEntered } from "./ledger.ts";
import { stepNamed, type OpenCase } from "./openCase.ts";

/** `kind`: the kind of deviation that the entry raises. */
export interface PendingStop {
  readonly entry: Entry;
  readonly step: Step;
  readonly kind: string;
}

/** Told from the record alone, so that it stands again after a reload and on another tablet. */
export function pendingStop(open: OpenCase): PendingStop | null {
  const entry = lastEntered(open.ledger);
  if (entry === null || entry.step === null || entry.type !== "step") return null;
  if (entry.voided || entry.value["kept_because"] !== undefined) return null;
  // Said to be in the eye already after STOP: it is accepted and graded, and not asked about again.
  if (entry.first["in_eye"] === false && entry.value["in_eye"] === true) return null;
  const step = stepNamed(open.protocol, entry.step);
  const kind = step === null ? null : stopKind(open, step, { ...entry.event, value: entry.value });
  return step === null || kind === null ? null : { entry, step, kind };
}

/** The kind that this event adds to the case without it; for a drug drawn up, also what it would be once given. */
function stopKind(open: OpenCase, step: Step, event: CaseEvent): string | null {
  const document = open.view.caseFile;
  const without = {
    ...document,
    events: document.events.filter((other) => other.id !== event.id && other["corrects"] !== event.id),
  };
  const asRead = wouldStop(open.protocol, without, event)?.kind ?? null;
  if (asRead !== null) return asRead;
  const value = event["value"];
  if (!step.asks_hub || !isObject(value) || value["in_eye"] !== false) return null;
  const given = { ...event, value: { ...value, in_eye: true, lock_checked: true, hub_held: true } };
  return wouldStop(open.protocol, without, given)?.kind ?? null;
}

/**
 * A drug or dye that is read before it is given: when giving it would stop, the reading itself is the record,
 * not in the eye, so that STOP stands before the injection. Null when nothing would stop.
 */
export function readingBeforeInjection(open: OpenCase, step: Step, value: Value): Value | null {
  if (!step.dose || value["in_eye"] !== undefined) return null;
  const reading = { ...value, in_eye: false };
  const event = { id: "reading", type: "step", step: step.step, at_ms: 0, entered_ms: 0, value: reading };
  const last_ms = Math.max(0, ...open.ledger.map((entry) => entry.at_ms));
  return stopKind(open, step, { ...event, at_ms: last_ms, entered_ms: last_ms }) === null ? null : reading;
}
