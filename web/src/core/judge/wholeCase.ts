/** Kinds `time_overrun`, `equipment`, `contamination` and `complication`: what happened to the case as a whole. */
import type { CaseEvent } from "../caseFile.ts";
import { asText } from "../json.ts";
import type { Grade } from "../protocol.ts";
import { span } from "../quantity.ts";
import { ON_CASE, deviation, earned, type Deviation } from "./deviation.ts";
import type { Facts } from "./facts.ts";

export function timeOverrun(facts: Facts): readonly Deviation[] {
  const rule = facts.protocol.time_overrun;
  const first = facts.first(rule.from);
  const ends = rule.to.flatMap((step) => facts.last(step)?.at_ms ?? []);
  const [end] = ends.toSorted((a, b) => b - a);
  if (first === undefined || end === undefined) return [];
  const limit_ms = 1000n * BigInt(facts.unit.limits.get("time_limit_s") ?? 0);
  const took_ms = BigInt(end) - BigInt(first.at_ms);
  if (took_ms <= limit_ms) return [];
  const detail = `${span(took_ms)}, limit ${span(limit_ms)}`;
  return deviation(ON_CASE, "time_overrun", [earned(facts.protocol.grades.time_overrun, false, detail)]);
}

export function equipment(facts: Facts): readonly Deviation[] {
  const grades = facts.protocol.grades.equipment;
  return ofType(facts, "fault").flatMap((event) => {
    const stage = event["stage"];
    if (stage !== "before" && stage !== "during") return [];
    return [one(event, "equipment", grades[stage], false, `${stage} the operation`)];
  });
}

export function contamination(facts: Facts): readonly Deviation[] {
  const { kept_out, reached_eye } = facts.protocol.grades.contamination;
  return ofType(facts, "breach").map((event) =>
    event["reached_eye"] === true
      ? one(event, "contamination", reached_eye, false, "reached the eye")
      : one(event, "contamination", kept_out, true, "did not reach the eye"),
  );
}

export function complication(facts: Facts): readonly Deviation[] {
  const grades = facts.protocol.grades.complication;
  const ofCase = ofType(facts, "complication").map((event) => {
    // Free text never stands in a deviation: only the known codes are repeated.
    const what = asText(event["what"] ?? "other");
    const code = Object.hasOwn(grades, what) ? what : "other";
    return one(event, "complication", grades[code] ?? grades.other, false, code);
  });
  return [...ofSteps(facts), ...ofCase];
}

function ofSteps(facts: Facts): readonly Deviation[] {
  return [...facts.byStep].flatMap(([code, records]) => {
    const rule = records[0]?.step.complication;
    if (rule === undefined) return [];
    const isAny = rule.rule === "any_is";
    const happened = isAny
      ? records.some((record) => record.get(rule.field) === rule.choice)
      : records.at(-1)?.get(rule.field) === false;
    const detail = isAny ? rule.choice : `not ${rule.field}`;
    return deviation(code, "complication", happened ? [earned(rule.grade, false, detail)] : []);
  });
}

function ofType(facts: Facts, type: string): readonly CaseEvent[] {
  return facts.caseFile.others.filter((event) => event.type === type);
}

/** A deviation of its own for one event, so that the surgeon can speak to each. */
function one(event: CaseEvent, kind: string, grade: Grade, caught: boolean, detail: string): Deviation {
  return { step: ON_CASE, kind, grade, key: `${ON_CASE}/${kind}/${event.id}`, caught, detail };
}
