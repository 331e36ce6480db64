/** Kind `omitted`: a due step without a record, or one whose last record leaves a required answer false. */
import type { OmittedRule, Step } from "../protocol.ts";
import { deviation, earned, type Deviation, type Earned } from "./deviation.ts";
import type { Facts } from "./facts.ts";

export function omitted(facts: Facts): readonly Deviation[] {
  return facts.due.flatMap((step) =>
    step.omitted ? deviation(step.step, "omitted", earnedBy(facts, step, step.omitted)) : [],
  );
}

function earnedBy(facts: Facts, step: Step, rule: OmittedRule): readonly Earned[] {
  const last = facts.counting(step.step).at(-1);
  if (last === undefined) {
    if (isMetElsewhere(facts, rule)) return [];
    return [earned(rule.no_record, false, step.in_eye_only ? "no record in the eye" : "no record")];
  }
  const missing = (rule.must_be_true ?? []).filter((name) => last.get(name) !== true);
  if (missing.length === 0 || rule.false === undefined) return [];
  return [earned(rule.false, false, `not confirmed: ${missing.join(", ")}`)];
}

function isMetElsewhere(facts: Facts, { met_also_by: other }: OmittedRule): boolean {
  return other !== undefined && facts.records(other.step).some((record) => record.has(other.field));
}
