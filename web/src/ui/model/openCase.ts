/** One case as the live screen, STOP and the review need it, made anew from the state whenever that changes. */
import type { CaseFileDocument } from "../../core/caseFold.ts";
import { dueSteps } from "../../core/judge/facts.ts";
import { readUnitValues, type UnitValues } from "../../core/unitValues.ts";
import type { Protocol, Step } from "../../core/protocol.ts";
import type { CaseView } from "../../state/index.ts";
import { liveText } from "../text/en.ts";
import { SIGN_OFF } from "./course.ts";
import { ledgerOf, recordsOf, type Entry } from "./ledger.ts";

export interface OpenCase {
  readonly view: CaseView;
  readonly protocol: Protocol;
  readonly ledger: readonly Entry[];
  readonly due: ReadonlySet<string>;
  readonly unit: UnitValues;
  readonly name: string;
}

/** `order`: the case's place on its list, or null. */
export function openCase(view: CaseView, protocol: Protocol, order: number | null): OpenCase {
  const document: CaseFileDocument = view.caseFile;
  return {
    view,
    protocol,
    ledger: ledgerOf(document.events),
    due: dueSteps(document, protocol),
    unit: readUnitValues(document.unit, protocol),
    name: liveText.caseName(order, view.meta.reference),
  };
}

/** When the case's clock started: the first record of the step that the time limit runs from; null before it. */
export function incision_ms({ protocol, ledger }: Pick<OpenCase, "protocol" | "ledger">): number | null {
  return recordsOf(ledger, protocol.time_overrun.from)[0]?.at_ms ?? null;
}

/** When the eye was closed, as the time limit counts it; null while it is not. */
export function close_ms({ protocol, ledger }: Pick<OpenCase, "protocol" | "ledger">): number | null {
  const times = protocol.time_overrun.to.flatMap((step) =>
    recordsOf(ledger, step).map((entry) => entry.at_ms),
  );
  return times.length === 0 ? null : Math.max(...times);
}

export function stepNamed(protocol: Protocol, code: string): Step | null {
  return protocol.steps.find(({ step }) => step === code) ?? null;
}

/** Signed: a sign-off stands in the case. */
export function isSigned({ ledger }: Pick<OpenCase, "ledger">): boolean {
  return recordsOf(ledger, SIGN_OFF).length > 0;
}
