/** Kind `count`: what came out differs from what went in, category by category, or an item was found retained. */
import type { Record } from "../caseFile.ts";
import { isObject, type Json, type JsonObject } from "../json.ts";
import type { CountRule } from "../protocol.ts";
import { deviation, earned, type Deviation, type Earned } from "./deviation.ts";
import type { Facts } from "./facts.ts";

export function count(facts: Facts): readonly Deviation[] {
  return [...facts.byStep].flatMap(([code, records]) => {
    const rule = records[0]?.step.count;
    if (rule === undefined) return [];
    return deviation(code, "count", [...differing(records, rule, facts), ...retained(records, rule, facts)]);
  });
}

function differing(records: readonly Record[], rule: CountRule, facts: Facts): readonly Earned[] {
  const items = facts.last(rule.opening)?.get(rule.items);
  if (!isObject(items)) return [];
  const counted = records.map((record) => difference(record, rule, items)).filter((said) => said !== null);
  const isCorrected = counted.at(-1) === "";
  const { corrected, kept } = facts.protocol.grades.count;
  const grade = isCorrected ? corrected : kept;
  return counted.filter((said) => said !== "").map((detail) => earned(grade, isCorrected, detail));
}

/** Empty where all categories agree; null where the record lacks a count. An absent category is 0. */
function difference(record: Record, rule: CountRule, items: JsonObject): string | null {
  const [added, out] = [record.get(rule.added), record.get(rule.out)];
  if (!isObject(added) || !isObject(out)) return null;
  const categories = new Set([items, added, out].flatMap((counts) => Object.keys(counts)));
  const parts = [...categories].toSorted(byPoints).flatMap((category) => {
    const expected = number(items, category) + number(added, category);
    const found = number(out, category);
    return found === expected ? [] : [`${category} ${found}, expected ${expected}`];
  });
  return parts.join("; ");
}

/** In order of code points, as the server sorts text. */
function byPoints(a: string, b: string): number {
  const [left, right] = [[...a], [...b]];
  for (const [at, character] of left.entries()) {
    const apart = (character.codePointAt(0) ?? 0) - (right[at]?.codePointAt(0) ?? -1);
    if (apart !== 0) return apart;
  }
  return left.length - right.length;
}

function number(counts: JsonObject, category: string): bigint {
  const found: Json | undefined = Object.hasOwn(counts, category) ? counts[category] : undefined;
  return typeof found === "number" ? BigInt(found) : 0n;
}

function retained(records: readonly Record[], rule: CountRule, facts: Facts): readonly Earned[] {
  const isFound = records.some((record) => record.get(rule.retained) === true);
  return isFound ? [earned(facts.protocol.grades.count.retained, false, "an item was found retained")] : [];
}
