/**
 * Kind `readback_mismatch`: what was read differs from its reference.
 * A record that lacks the value is passed over. Whether a mismatch was put right is told by the last record judged.
 */
import type { Lens, Record } from "../caseFile.ts";
import { asText, type Json } from "../json.ts";
import type { ReadbackRule } from "../protocol.ts";
import { power } from "../quantity.ts";
import { deviation, earned, type Deviation } from "./deviation.ts";
import { isSameLens, lensOf, type Facts } from "./facts.ts";

const MS_A_DAY = 86_400_000;

/** null: nothing could be compared; empty: the two agree; else what differs. */
type Reading = string | null;

export function readbackMismatch(facts: Facts): readonly Deviation[] {
  const grades = facts.protocol.grades.readback_mismatch;
  return [...facts.byStep].flatMap(([code, records]) => {
    const rule = records[0]?.step.readback;
    if (rule === undefined) return [];
    const readings = records
      .map((record) => readingOf(record, rule, facts))
      .filter((reading) => reading !== null);
    const isCorrected = readings.at(-1) === "";
    const grade = isCorrected ? grades.corrected : grades.kept;
    const differing = readings.filter((reading) => reading !== "");
    return deviation(
      code,
      "readback_mismatch",
      differing.map((detail) => earned(grade, isCorrected, detail)),
    );
  });
}

export function lensText(lens: Lens): string {
  return `${lens.model} ${power(lens.power_cdpt)}`;
}

function readingOf(record: Record, rule: ReadbackRule, facts: Facts): Reading {
  switch (rule.rule) {
    case "true":
      return record.get(rule.field) === true ? "" : "does not match";
    case "eye": {
      const reference = facts.last(rule.against);
      return differs(record.get("eye"), reference === undefined ? facts.plan.eye : reference.get("eye"));
    }
    case "unit_dye":
      return differs(record.get(rule.field), facts.unit.dye);
    case "label":
      return differs(record.get(rule.field), rule.label);
    case "lens":
      return lensReading(record, rule, facts);
  }
}

function differs(read: Json | undefined, expected: Json | undefined): Reading {
  if (read === undefined || expected === undefined) return null;
  return read === expected ? "" : `read ${asText(read)}, expected ${asText(expected)}`;
}

interface LensRule {
  readonly against: readonly string[];
  readonly expiry?: string;
}

/** Differs where the lens differs from any of its references, or where the box had expired. */
function lensReading(record: Record, rule: LensRule, facts: Facts): Reading {
  const read = lensOf(record.value);
  const compared =
    read === null
      ? []
      : references(record, rule.against, facts).map((lens) =>
          isSameLens(read, lens) ? "" : `read ${lensText(read)}, expected ${lensText(lens)}`,
        );
  const expired = expiredOn(record, rule.expiry);
  const judged = expired === null ? compared : [expired, ...compared];
  if (judged.length === 0) return null;
  return [...new Set(judged.filter((part) => part !== ""))].join("; ");
}

/** The new plan in force alone; without one the plan and the last plan read aloud not later than the record. */
function references(record: Record, against: readonly string[], facts: Facts): readonly Lens[] {
  const found: (Lens | null)[] = [];
  for (const reference of against) {
    const spoken = reference === "plan" ? undefined : facts.inForce(reference, record.at_ms);
    if (reference === "plan") found.push(facts.plan.lens);
    else if (spoken !== undefined && reference === "new-lens-plan") return present([lensOf(spoken.value)]);
    else if (spoken !== undefined) found.push(lensOf(spoken.value));
  }
  return present(found);
}

function present(lenses: readonly (Lens | null)[]): readonly Lens[] {
  return lenses.filter((lens) => lens !== null);
}

/** Judged only where it has expired: a date that is still good says nothing about the lens that was read. */
function expiredOn(record: Record, field: string | undefined): string | null {
  const expiry = field === undefined ? undefined : record.value[field];
  if (typeof expiry !== "string" || daysOf(expiry) >= Math.floor(record.at_ms / MS_A_DAY)) return null;
  return `expired ${expiry}`;
}

/** Days from 1970-01-01 to a day YYYY-MM-DD of the proleptic Gregorian calendar. */
export function daysOf(day: string): number {
  const [year = 0, month = 0, ofMonth = 0] = day.split("-").map(Number);
  const years = year - (month <= 2 ? 1 : 0);
  const ofMonths = Math.floor((153 * (month + (month > 2 ? -3 : 9)) + 2) / 5) + ofMonth - 1;
  return (
    365 * years +
    Math.floor(years / 4) -
    Math.floor(years / 100) +
    Math.floor(years / 400) +
    ofMonths -
    719_468
  );
}
