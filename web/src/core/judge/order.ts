/**
 * Kind `out_of_order`: a step that came too soon, was given after the last look, or came after the patient left.
 * Times are compared by at_ms alone: equal times are in order.
 */
import type { Record } from "../caseFile.ts";
import type { Pair } from "../protocol.ts";
import { deviation, earned, highest, type Deviation, type Earned } from "./deviation.ts";
import type { Facts } from "./facts.ts";

const SUTURE_COMPANIONS = ["lock_checked", "hub_held", "detached", "injury", "syringe_label"] as const;

type Parts = Map<string, Earned[]>;

export function outOfOrder(facts: Facts): readonly Deviation[] {
  const parts: Parts = new Map();
  cameTooSoon(facts, parts);
  cameAfterLast(facts, parts);
  cameAfterPatientOut(facts, parts);
  return [...parts].flatMap(([step, found]) => deviation(step, "out_of_order", found));
}

/** A record that says only how many sutures were placed: nothing was injected. */
export function isSuturesAlone(record: Record, field: string): boolean {
  return record.has(field) && !SUTURE_COMPANIONS.some((name) => record.has(name));
}

function add(parts: Parts, step: string, part: Earned): void {
  parts.set(step, [...(parts.get(step) ?? []), part]);
}

function cameTooSoon(facts: Facts, parts: Parts): void {
  const broken = new Map<string, Pair[]>();
  for (const pair of facts.protocol.order) {
    if (isBroken(pair, facts)) broken.set(pair.after, [...(broken.get(pair.after) ?? []), pair]);
  }
  for (const [step, pairs] of broken) {
    const grade = highest(
      pairs.map((pair) => pair.grade),
      "G1",
    );
    add(parts, step, earned(grade, false, `came before ${pairs.map((pair) => pair.before).join(", ")}`));
  }
}

function isBroken(pair: Pair, facts: Facts): boolean {
  const before = facts.first(pair.before)?.at_ms;
  const after = facts.first(pair.after)?.at_ms;
  if (before === undefined || after === undefined || after >= before) return false;
  return !pair.only_after_tear || (facts.tornAt_ms !== null && facts.tornAt_ms < after);
}

/** Nothing goes into the eye or the wound after the last look. */
function cameAfterLast(facts: Facts, parts: Parts): void {
  const rule = facts.protocol.after_last;
  const last = facts.last(rule.step);
  if (last === undefined) return;
  const late = rule.records.filter((step) =>
    facts.records(step).some((record) => record.at_ms > last.at_ms && touchesEye(record)),
  );
  if (late.length > 0)
    add(parts, rule.step, earned(rule.grade, false, `came before the last ${late.join(", ")}`));
}

function touchesEye(record: Record): boolean {
  const field = record.step.sutures_field;
  if (field !== undefined) return !(isSuturesAlone(record, field) && record.value[field] === 0);
  if (record.step.fields.some(({ name }) => name === "sutures")) {
    const sutures = record.get("sutures");
    return typeof sutures === "number" && sutures > 0;
  }
  return record.inEye;
}

function cameAfterPatientOut(facts: Facts, parts: Parts): void {
  const rule = facts.protocol.before_patient_out;
  const left = facts.caseFile.others.find(
    (event) => event.type === "room" && event["moment"] === "patient_out",
  );
  if (left === undefined) return;
  for (const step of rule.steps) {
    const first = facts.first(step);
    if (first !== undefined && first.at_ms > left.at_ms) {
      add(parts, step, earned(rule.grade, false, "came after the patient left"));
    }
  }
}
