/** The judge: one case file and one protocol in, every deviation out. Pure, and the same on every machine. */
import type { CaseFile } from "../caseFile.ts";
import type { Protocol } from "../protocol.ts";
import { contraindicated } from "./contraindicated.ts";
import { count } from "./count.ts";
import type { Deviation, Judgement } from "./deviation.ts";
import { dose } from "./dose.ts";
import { Facts } from "./facts.ts";
import { hubCounts, hubNotAsked, hubNotHeld } from "./hub.ts";
import { isBurst, lateEntry } from "./lateness.ts";
import { omitted } from "./omitted.ts";
import { outOfOrder } from "./order.ts";
import { readbackMismatch } from "./readback.ts";
import { wrongSetting } from "./setting.ts";
import { substitution } from "./substitution.ts";
import { outOfTolerance } from "./tolerance.ts";
import { complication, contamination, equipment, timeOverrun } from "./wholeCase.ts";

export const SIGN_OFF = "surgeon-sign-off";

const WHEN_OPEN: readonly ((facts: Facts) => readonly Deviation[])[] = [
  outOfOrder,
  outOfTolerance,
  dose,
  contraindicated,
  readbackMismatch,
  wrongSetting,
  hubNotHeld,
  substitution,
  count,
  timeOverrun,
  equipment,
  contamination,
  complication,
  lateEntry,
];

export interface JudgeOptions {
  /** Leaves out every `omitted`. */
  readonly isOpen?: boolean;
  /** Leaves out the rows of the surgeon's own step, for the sign-off screen. */
  readonly withoutSignOff?: boolean;
}

/** Judges a case as closed, as at sign-off, or as the options say. */
export function judge(caseFile: CaseFile, protocol: Protocol, options: JudgeOptions = {}): Judgement {
  const facts = new Facts(caseFile, protocol);
  const kinds = options.isOpen ? WHEN_OPEN : [...WHEN_OPEN, omitted];
  const deviations = kinds
    .flatMap((kind) => kind(facts))
    .filter(({ step }) => !options.withoutSignOff || step !== SIGN_OFF)
    .toSorted(byStepKindKey);
  return {
    deviations,
    flags: isBurst(facts) ? ["burst"] : [],
    unread: caseFile.unread,
    hubNotAsked: hubNotAsked(facts),
    steps: new Set([...facts.due.map(({ step }) => step), ...facts.byStep.keys()]),
    ...hubCounts(facts),
  };
}

function byStepKindKey(a: Deviation, b: Deviation): number {
  return order(a.step, b.step) || order(a.kind, b.kind) || order(a.key, b.key);
}

function order(a: string, b: string): number {
  return a < b ? -1 : Number(a > b);
}
