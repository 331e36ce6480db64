/** Kind `late_entry` and the flag `burst`: when things were entered, against when they happened. */
import { span } from "../quantity.ts";
import { deviation, earned, type Deviation } from "./deviation.ts";
import type { Facts } from "./facts.ts";

export function lateEntry(facts: Facts): readonly Deviation[] {
  const limit_ms = 1000n * BigInt(facts.unit.limits.get("late_s") ?? 0);
  return [...facts.byStep].flatMap(([code, records]) => {
    if (records[0]?.step.timely === false) return [];
    const late = records.map(({ at_ms, entered_ms }) => BigInt(entered_ms) - BigInt(at_ms));
    const latest = late.reduce((most, ms) => (ms > most ? ms : most), limit_ms);
    if (latest <= limit_ms) return [];
    const detail = `entered ${span(latest)} after it happened`;
    return deviation(code, "late_entry", [earned(facts.protocol.grades.late_entry, false, detail)]);
  });
}

/** Several records entered within a few seconds: a mark on the record, not on the operation. */
export function isBurst(facts: Facts): boolean {
  const { burst_records, burst_span_ms } = facts.protocol.fixed;
  const entered = facts.caseFile.records.map((record) => record.entered_ms).toSorted((a, b) => a - b);
  return entered.some((last_ms, at) => {
    const first_ms = entered[at - burst_records + 1];
    return first_ms !== undefined && BigInt(last_ms) - BigInt(first_ms) <= BigInt(burst_span_ms);
  });
}
