/** Which record of a case stops: the step entered last, unless it was kept, taken back, or read again. */
import type { CaseEvent } from "../../core/caseFile.ts";
import type { CaseFileDocument } from "../../core/caseFold.ts";
import { isObject } from "../../core/json.ts";
import type { Step } from "../../core/protocol.ts";
import { wouldStop, type Stop } from "../../core/stop.ts";
import { lastStepEntered, recordsOf, type Entry, type Value } from "./ledger.ts";
import { stepNamed, type OpenCase } from "./openCase.ts";

/** `kind` of deviation that the entry raises; `at`: the step where it stands, another one if a reference changed. */
export interface PendingStop {
  readonly entry: Entry;
  readonly step: Step;
  readonly kind: string;
  readonly at: string;
  readonly detail: string;
}

/** Told from the record alone, so that it stands again after a reload and on another tablet. */
export function pendingStop(open: OpenCase): PendingStop | null {
  const entry = lastStepEntered(open.ledger);
  if (entry === null || entry.step === null) return null;
  if (entry.voided || entry.value["kept_because"] !== undefined) return null;
  // Said to be in the eye already after STOP: it is accepted and graded, and not asked about again.
  if (entry.first["in_eye"] === false && entry.value["in_eye"] === true) return null;
  const step = stepNamed(open.protocol, entry.step);
  const stop = step === null ? null : stopOf(open, step, { ...entry.event, value: entry.value });
  if (step === null || stop === null) return null;
  return { entry, step, kind: stop.kind, at: stop.step, detail: stop.detail };
}

/** What this event raises in the case without it: as it was read, and as it would be once given. */
function stopOf(open: OpenCase, step: Step, event: CaseEvent): Stop | null {
  const document = open.view.caseFile;
  const events = document.events.filter((other) => other.id !== event.id && other["corrects"] !== event.id);
  const without = { ...document, events };
  const stop = wouldStop(open.protocol, without, event) ?? stopOnceGiven(open, step, without, event);
  // G1: another drug than planned because an allergy bars the planned one, as the rule wants it.
  return stop === null || stop.grade === "G1" ? null : stop;
}

const HELD = { in_eye: true, lock_checked: true, hub_held: true };

/** What the same reading would raise if it were in the eye; null where it is, or where nothing goes into the eye. */
function stopOnceGiven(open: OpenCase, step: Step, without: CaseFileDocument, event: CaseEvent): Stop | null {
  const { protocol } = open;
  const value = event["value"];
  if (!isObject(value)) return null;
  if (step.asks_hub) {
    if (value["in_eye"] !== false) return null;
    return ofReading(step, wouldStop(protocol, without, { ...event, value: { ...value, ...HELD } }));
  }
  if (step.dose?.place !== "never_in_eye") return null;
  // The check of a drug that is given later: its name alone, as the dose is judged where it was read.
  const giving = protocol.steps.find(({ substitution }) => substitution?.rule === step.dose?.of);
  if (giving === undefined) return null;
  const name = { [step.dose.of]: value[step.dose.of] ?? "" };
  const checked = { ...without, events: [...without.events, event] };
  const given = { ...event, id: `${event.id}-given`, step: giving.step, value: { ...name, ...HELD } };
  return ofReading(step, wouldStop(protocol, checked, given));
}

/** The stop as one of the step that was read, wherever the injection would stand. */
function ofReading({ step }: Step, stop: Stop | null): Stop | null {
  return stop === null ? null : { ...stop, step };
}

/**
 * A drug or dye that is read before it is given: when giving it would stop, the reading itself is the record,
 * not in the eye, so that STOP stands before the injection. Null when nothing would stop, or when it was kept.
 */
export function readingBeforeInjection(open: OpenCase, step: Step, value: Value): Value | null {
  if (!step.dose || value["in_eye"] !== undefined || keptReading(open, step, value) !== null) return null;
  const reading = { ...value, in_eye: false };
  const last_ms = Math.max(0, ...open.ledger.map((entry) => entry.at_ms));
  const event = {
    id: "reading",
    type: "step",
    step: step.step,
    at_ms: last_ms,
    entered_ms: last_ms,
    value: reading,
  };
  return stopOf(open, step, event) === null ? null : reading;
}

/** What is given after its reading was kept at STOP carries the same reason, and does not stop a second time. */
export function withKeptReason(open: OpenCase, step: Step, value: Value): Value {
  const kept = keptReading(open, step, value)?.value;
  const { kept_because, kept_by } = kept ?? {};
  return kept_because === undefined || kept_by === undefined ? value : { ...value, kept_because, kept_by };
}

const READING = ["drug", "dye", "strength_ug_ml", "volume_ul"] as const;

function keptReading(open: OpenCase, step: Step, value: Value): Entry | null {
  const kept = recordsOf(open.ledger, step.step).filter((entry) => entry.value["kept_because"] !== undefined);
  return kept.findLast((entry) => READING.every((name) => entry.value[name] === value[name])) ?? null;
}
