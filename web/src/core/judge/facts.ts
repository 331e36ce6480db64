/** The facts of one case that several kinds of deviation need: records by step, allergies, whether it is torn. */
import { read, type CaseFile, type Lens, type Plan, type Record } from "../caseFile.ts";
import { holds } from "../condition.ts";
import { asText, type Json, type JsonObject } from "../json.ts";
import { stepsOf, type Protocol, type Step } from "../protocol.ts";
import type { UnitValues } from "../unitValues.ts";

/** One case file seen through one protocol. Records of a step stand in order of at_ms, then id. */
export class Facts {
  readonly plan: Plan;
  readonly unit: UnitValues;
  readonly byStep: ReadonlyMap<string, readonly Record[]>;
  /** All that stand in any allergies record. */
  readonly allergies: ReadonlySet<string>;
  /** When the first torn record happened, null where the capsule is not torn. */
  readonly tornAt_ms: number | null;
  /** The steps that are due, in the order of the protocol. */
  readonly due: readonly Step[];

  constructor(
    readonly caseFile: CaseFile,
    readonly protocol: Protocol,
  ) {
    this.plan = caseFile.plan;
    this.unit = caseFile.unit;
    const byStep = new Map<string, Record[]>();
    for (const record of caseFile.records) {
      const held = byStep.get(record.step.step);
      if (held) held.push(record);
      else byStep.set(record.step.step, [record]);
    }
    this.byStep = byStep;
    this.allergies = new Set(this.records("allergies").flatMap((record) => words(record.value["allergies"])));
    const { step, field, choice } = protocol.tear;
    this.tornAt_ms = this.records(step).find((record) => record.get(field) === choice)?.at_ms ?? null;
    const terms = this.terms();
    this.due = protocol.steps.filter((one) => holds(one.due, terms));
  }

  records(step: string): readonly Record[] {
    return this.byStep.get(step) ?? [];
  }

  /** The first record; for steps that count only in the eye, the first in the eye. */
  first(step: string): Record | undefined {
    return this.counting(step)[0];
  }

  last(step: string): Record | undefined {
    return this.records(step).at(-1);
  }

  /** The records that meet the step: all, or those in the eye where only these count. */
  counting(step: string): readonly Record[] {
    const found = this.records(step);
    return stepsOf(this.protocol).get(step)?.in_eye_only ? found.filter((record) => record.inEye) : found;
  }

  /** The last record of `step` that is not later than `at_ms`. */
  inForce(step: string, at_ms: number): Record | undefined {
    return this.records(step).findLast((record) => record.at_ms <= at_ms);
  }

  isDrugBarred(drug: string): boolean {
    return [...(this.unit.drugs.get(drug)?.barredBy ?? [])].some((allergy) => this.allergies.has(allergy));
  }

  /** Barred by the planned lens; a dye that the unit does not list is not known to be. */
  isDyeBarred(dye: string): boolean {
    const barred = this.protocol.fixed.dyes_barred_by_dry_state_hydrophilic;
    return barred.includes(dye) && this.unit.dyes.has(dye) && this.plan.lens.dry_state_hydrophilic;
  }

  /** What the conditions of the protocol file may speak of. */
  private terms() {
    const notDone: { [step: string]: Json[] } = Object.create(null);
    for (const event of this.caseFile.others) {
      const { type, step, reason } = event as JsonObject & { readonly type: string };
      if (type === "not_done" && reason !== undefined) (notDone[asText(step)] ??= []).push(reason);
    }
    const records: { [step: string]: readonly JsonObject[] } = {};
    const last: { [step: string]: JsonObject | undefined } = {};
    for (const [step, found] of this.byStep) {
      records[step] = found.map(({ value }) => value);
      last[step] = found.at(-1)?.value;
    }
    return {
      plan: this.plan,
      torn: this.tornAt_ms !== null,
      every_drug_barred: [...this.unit.drugs.keys()].every((drug) => this.isDrugBarred(drug)),
      dye_barred_by_planned_lens: this.isDyeBarred(this.unit.dye),
      fixed: this.protocol.fixed,
      records,
      last,
      not_done: notDone,
    };
  }
}

/** The codes of the steps that are due in a case file that reads. */
export function dueSteps(document: Json, protocol: Protocol): ReadonlySet<string> {
  return new Set(new Facts(read(document, protocol), protocol).due.map(({ step }) => step));
}

/** Model and signed power of a lens; null where either is missing. */
export function lensOf(value: { readonly [name: string]: unknown }): Lens | null {
  const { model, power_cdpt } = value;
  return typeof model === "string" && typeof power_cdpt === "number" ? { model, power_cdpt } : null;
}

export function isSameLens(a: Lens, b: Lens): boolean {
  return a.model === b.model && a.power_cdpt === b.power_cdpt;
}

function words(value: Json | undefined): readonly string[] {
  return Array.isArray(value) ? value.map(String) : [];
}
