/** The course of a case: its steps in the order they are asked, what stands recorded, and what is asked now. */
import type { Protocol, Step } from "../../core/protocol.ts";
import { hasMoment, isNotDone, recordsOf, type Entry } from "./ledger.ts";

/** recorded, not_done: an entry stands; blank: passed over; asked: asked now; to_do: still ahead. */
export type ItemState = "recorded" | "not_done" | "blank" | "asked" | "to_do";

/** A step of the protocol, or the question whether the patient is in the room or leaves it. */
export type Asked =
  | { readonly kind: "step"; readonly step: Step }
  | { readonly kind: "room"; readonly moment: "patient_in" | "patient_out" }
  | { readonly kind: "end" };

export interface CourseItem {
  readonly step: Step;
  readonly state: ItemState;
}

/** `at`: place of the asked step, or the number of items when none is asked. */
export interface Course {
  readonly items: readonly CourseItem[];
  readonly at: number;
  readonly blankBefore: number;
  readonly asked: Asked;
  readonly next: Asked;
}

export interface CourseInput {
  readonly protocol: Protocol;
  readonly ledger: readonly Entry[];
  readonly due: ReadonlySet<string>;
  /** A step opened by hand from the steps page, or null. */
  readonly opened: string | null;
  /** "Not yet" was said to the question whether the patient is in (or leaves). */
  readonly postponed: ReadonlySet<string>;
}

export function courseOf(input: CourseInput): Course {
  const { protocol, ledger, due, opened } = input;
  const steps = orderOfAsking(protocol).filter(
    (step) => due.has(step.step) || stands(ledger, step) || step.step === opened,
  );
  const states = steps.map((step) => entryState(ledger, step));
  const last = states.findLastIndex((state) => state !== null);
  const front = firstBlank(states, last + 1) ?? steps.length;
  const at = opened === null ? front : steps.findIndex((step) => step.step === opened);
  const items = steps.map((step, index) => ({
    step,
    state: stateOf(states[index] ?? null, index, at, last),
  }));
  const step = items[at]?.step;
  return {
    items,
    at,
    blankBefore: items.slice(0, at).filter((item) => item.state === "blank").length,
    asked: opened === null ? roomOrStep(input, step) : step ? { kind: "step", step } : { kind: "end" },
    next: nextAfter(items, at),
  };
}

function stands(ledger: readonly Entry[], step: Step): boolean {
  return entryState(ledger, step) !== null;
}

function entryState(ledger: readonly Entry[], step: Step): "recorded" | "not_done" | null {
  if (recordsOf(ledger, step.step).some((entry) => meets(step, entry))) return "recorded";
  return isNotDone(ledger, step.step) ? "not_done" : null;
}

/** What is only drawn up does not meet a step that counts in the eye: it is asked until it is given. */
function meets(step: Step, entry: Entry): boolean {
  return step.in_eye_only !== true || entry.value["in_eye"] !== false;
}

function firstBlank(states: readonly (string | null)[], from: number): number | null {
  const at = states.findIndex((state, index) => index >= from && state === null);
  return at < 0 ? null : at;
}

function stateOf(entry: "recorded" | "not_done" | null, index: number, at: number, last: number): ItemState {
  if (index === at && entry === null) return "asked";
  if (entry !== null) return entry;
  return index < last || index < at ? "blank" : "to_do";
}

/** The room questions come before the first step, again before the second phase, and after sign-out. */
function roomOrStep({ protocol, ledger, postponed }: CourseInput, step: Step | undefined): Asked {
  const firstPhase = protocol.phases[0]?.phase;
  const isIn = hasMoment(ledger, "patient_in");
  const askIn = !isIn && (!postponed.has("patient_in") || (step !== undefined && step.phase !== firstPhase));
  if (askIn && !postponed.has("patient_in again")) return { kind: "room", moment: "patient_in" };
  const passedSignOut = protocol.before_patient_out.steps.every(
    (code) => recordsOf(ledger, code).length > 0 || isNotDone(ledger, code),
  );
  const askOut = passedSignOut && !hasMoment(ledger, "patient_out") && !postponed.has("patient_out");
  if (askOut) return { kind: "room", moment: "patient_out" };
  if (step === undefined || step.step === SIGN_OFF) return { kind: "end" };
  return { kind: "step", step };
}

/** Signed on the review page, never ticked on the live screen. */
export const SIGN_OFF = "surgeon-sign-off";

function nextAfter(items: readonly CourseItem[], at: number): Asked {
  const item = items.find(({ state }, index) => index > at && (state === "to_do" || state === "blank"));
  if (item === undefined || item.step.step === SIGN_OFF) return { kind: "end" };
  return { kind: "step", step: item.step };
}

/**
 * The order of the protocol file, with the steps that wait for a tear drawn forward: before the step that an order
 * pair names, before the last look for what must not come after it, and else before the patient may leave.
 */
export function orderOfAsking(protocol: Protocol): readonly Step[] {
  const branch = protocol.steps.filter((step) => speaksOfTear(step.due));
  const main = protocol.steps.filter((step) => !branch.includes(step));
  const order = [...main];
  let anchor = protocol.before_patient_out.steps[0] ?? SIGN_OFF;
  for (const step of branch.toReversed()) {
    anchor = anchorOf(protocol, step, main) ?? anchor;
    const at = order.findIndex((other) => other.step === anchor);
    order.splice(at < 0 ? order.length : at, 0, step);
    anchor = step.step;
  }
  return order;
}

function anchorOf(protocol: Protocol, step: Step, main: readonly Step[]): string | null {
  const later = protocol.order.filter((pair) => pair.before === step.step).map((pair) => pair.after);
  const first = main.find((other) => later.includes(other.step));
  if (first) return first.step;
  return protocol.after_last.records.includes(step.step) ? protocol.after_last.step : null;
}

function speaksOfTear(expression: unknown): boolean {
  if (!Array.isArray(expression)) return false;
  if (expression[0] === "ref" && expression[1] === "torn") return true;
  return expression.some(speaksOfTear);
}
