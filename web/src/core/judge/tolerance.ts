/** Kind `out_of_tolerance`: a value that is possible but outside what the unit expects. */
import type { Record } from "../caseFile.ts";
import type { ToleranceRule } from "../protocol.ts";
import { decimal, shown } from "../quantity.ts";
import { holds, type Range } from "../unitValues.ts";
import { deviation, earned, type Deviation, type Earned } from "./deviation.ts";
import type { Facts } from "./facts.ts";

export function outOfTolerance(facts: Facts): readonly Deviation[] {
  return [...facts.byStep].flatMap(([code, records]) => {
    const rules = records[0]?.step.tolerance ?? [];
    const parts = rules.flatMap((rule): readonly Earned[] => {
      const detail = outside(records, rule, facts);
      return detail === "" ? [] : [earned(rule.grade, false, detail)];
    });
    return deviation(code, "out_of_tolerance", parts);
  });
}

/** What lies outside by one rule, in words; empty where nothing does. */
function outside(records: readonly Record[], rule: ToleranceRule, facts: Facts): string {
  const last = records.slice(-1);
  switch (rule.rule) {
    case "longest_at_least":
      return tooShort(records, rule.field, facts.unit.limits.get(rule.limit) ?? 0);
    case "any_outside":
      return outsideRange(records, rule.field, facts.unit.ranges.get(rule.range));
    case "last_outside":
      return outsideRange(last, rule.field, facts.unit.ranges.get(rule.range));
    case "last_overlap":
      return tooLittleOverlap(last[0], rule, facts);
    case "last_is":
      return last[0]?.get(rule.field) === rule.choice ? rule.choice : "";
    case "last_measured_outside":
      // A number without the name of an instrument was felt, not measured, and is not judged.
      return last[0]?.get(rule.instrument)
        ? outsideRange(last, rule.field, facts.unit.ranges.get(rule.range))
        : "";
    case "settings":
      return outsideSettings(records, facts);
  }
}

/** A range in words. */
function rangeText(field: string, range: Range): string {
  if ("card" in range) return `the card's ${shown(field, range.card)} plus or minus ${range.percent} %`;
  return `${shown(field, range.low)} to ${shown(field, range.high)}`;
}

function tooShort(records: readonly Record[], field: string, limit: number): string {
  const lengths = records.flatMap((record) => whole(record, field));
  const longest = lengths.reduce((most, value) => (value > most ? value : most), lengths[0] ?? limit);
  return longest >= limit ? "" : `longest ${shown(field, longest)}, expected at least ${shown(field, limit)}`;
}

function outsideRange(records: readonly Record[], field: string, range: Range | undefined): string {
  if (range === undefined) return "";
  const found = records.flatMap((record) => whole(record, field)).filter((value) => !holds(range, value));
  if (found.length === 0) return "";
  const values = [...new Set(found.map((value) => shown(field, value)))];
  return `${values.join(", ")}, expected ${rangeText(field, range)}`;
}

/** Margin = (optic - opening) / 2 - decentration, compared doubled so that no half is lost (clinical F1). */
function tooLittleOverlap(
  record: Record | undefined,
  rule: { readonly diameter: string; readonly decentration: string; readonly limit: string },
  facts: Facts,
): string {
  const diameter = record?.get(rule.diameter);
  const decentration = record?.get(rule.decentration);
  if (typeof diameter !== "number" || typeof decentration !== "number") return "";
  const limit = facts.unit.limits.get(rule.limit) ?? 0;
  const doubled = BigInt(facts.plan.lens.optic_um) - BigInt(diameter) - 2n * BigInt(decentration);
  if (doubled >= 2n * BigInt(limit)) return "";
  return `overlap ${decimal(5n * doubled, 4, 1)} mm, expected at least ${shown("overlap_um", limit)}`;
}

function outsideSettings(records: readonly Record[], facts: Facts): string {
  const parts = new Set<string>();
  for (const record of records) {
    const mode = record.get("mode");
    if (typeof mode !== "string" || !record.step.settings?.allowed.includes(mode)) continue;
    for (const [field, range] of facts.unit.modes.get(mode) ?? []) {
      const value = record.get(field);
      if (typeof value === "number" && !holds(range, value)) {
        parts.add(`${mode} ${shown(field, value)}, expected ${rangeText(field, range)}`);
      }
    }
  }
  return [...parts].join("; ");
}

function whole(record: Record, field: string): readonly number[] {
  const value = record.get(field);
  return typeof value === "number" ? [value] : [];
}
