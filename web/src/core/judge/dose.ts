/** Kind `dose`: what was drawn up or given against the planned dose of that drug, in exact fractions. */
import type { Record } from "../caseFile.ts";
import { compare, fraction, plus, times, type Fraction } from "../fraction.ts";
import { asText, isObject } from "../json.ts";
import type { Grade } from "../protocol.ts";
import { mass, rounded } from "../quantity.ts";
import { deviation, earned, type Deviation, type Earned } from "./deviation.ts";
import type { Facts } from "./facts.ts";

type Of = "drug" | "dye";

/** Strength times volume in micrograms, exact, through the dilution chain where there is one. Null if not known. */
export function dose_ug(record: Pick<Record, "get">): Fraction | null {
  const strength = strength_ug_ul(record);
  const volume_ul = record.get("volume_ul");
  if (strength === null || typeof volume_ul !== "number") return null;
  return times(strength, fraction(BigInt(volume_ul)));
}

export function dose(facts: Facts): readonly Deviation[] {
  return [...facts.byStep].flatMap(([code, records]) => {
    const rule = records[0]?.step.dose;
    if (rule === undefined) return [];
    const inEye = records.filter((record) => rule.place === "in_eye" && record.inEye);
    const outside = records.filter((record) => !inEye.includes(record));
    return deviation(code, "dose", [...each(outside, rule.of, facts), ...summed(inEye, rule.of, facts)]);
  });
}

function strength_ug_ul(record: Pick<Record, "get">): Fraction | null {
  const strength_ug_ml = record.get("strength_ug_ml");
  if (typeof strength_ug_ml === "number") return fraction(BigInt(strength_ug_ml), 1000n);
  const [vial_ug, diluent_ul] = [record.get("vial_ug"), record.get("diluent_ul")];
  if (typeof vial_ug !== "number" || typeof diluent_ul !== "number" || diluent_ul === 0) return null;
  let strength = fraction(BigInt(vial_ug), BigInt(diluent_ul));
  const then = record.get("then");
  for (const part of Array.isArray(then) ? then : []) {
    const { take_ul, add_ul } = isObject(part) ? part : {};
    if (typeof take_ul !== "number" || typeof add_ul !== "number") return null;
    const whole_ul = BigInt(take_ul) + BigInt(add_ul);
    if (whole_ul === 0n) return null;
    strength = times(strength, fraction(BigInt(take_ul), whole_ul));
  }
  return strength;
}

/** The planned dose of a drug on the unit's list, or the most of a dye; null for all others. */
function planned_ug(name: string, of: Of, facts: Facts): Fraction | null {
  const found = of === "dye" ? facts.unit.dyes.get(name) : facts.unit.drugs.get(name)?.dose_ug;
  return typeof found === "number" ? fraction(BigInt(found)) : null;
}

function ratio([numerator, denominator]: readonly [number, number]): Fraction {
  return fraction(BigInt(numerator), BigInt(denominator));
}

function isOutside(given: Fraction, planned: Fraction, of: Of, facts: Facts): boolean {
  const { dose_ratio_low, dose_ratio_high } = facts.protocol.fixed;
  if (compare(given, times(planned, ratio(dose_ratio_high))) > 0) return true;
  return of === "drug" && compare(given, times(planned, ratio(dose_ratio_low))) < 0;
}

function gradeInEye(given: Fraction, planned: Fraction, facts: Facts): Grade {
  const { dose_ratio_g3_over, dose_ratio_g4_from } = facts.protocol.fixed;
  const { outside, g3, g4 } = facts.protocol.grades.dose;
  if (compare(given, planned) <= 0) return outside;
  if (compare(given, times(planned, ratio(dose_ratio_g4_from))) >= 0) return g4;
  return compare(given, times(planned, ratio(dose_ratio_g3_over))) > 0 ? g3 : outside;
}

/** Not in the eye: any record outside was caught before the eye. */
function each(records: readonly Record[], of: Of, facts: Facts): readonly Earned[] {
  return records.flatMap((record) => {
    const name = record.get(of);
    const given = dose_ug(record);
    const planned = typeof name === "string" ? planned_ug(name, of, facts) : null;
    if (given === null || planned === null || !isOutside(given, planned, of, facts)) return [];
    return [earned(facts.protocol.grades.dose.outside, true, detailOf(asText(name), given, planned, of))];
  });
}

/** In the eye: doses of the same drug are added up. */
function summed(records: readonly Record[], of: Of, facts: Facts): readonly Earned[] {
  const sums = new Map<string, Fraction>();
  for (const record of records) {
    const name = record.get(of);
    const given = dose_ug(record);
    if (typeof name === "string" && given !== null)
      sums.set(name, plus(sums.get(name) ?? fraction(0n), given));
  }
  return [...sums].flatMap(([name, given]) => {
    const planned = planned_ug(name, of, facts);
    if (planned === null || !isOutside(given, planned, of, facts)) return [];
    return [earned(gradeInEye(given, planned, facts), false, detailOf(name, given, planned, of))];
  });
}

function detailOf(name: string, given: Fraction, planned: Fraction, of: Of): string {
  const wanted = of === "drug" ? "planned" : "most allowed";
  const factor = fraction(
    given.numerator * planned.denominator,
    given.denominator * (planned.numerator || 1n),
  );
  const comparison = planned.numerator > 0n ? `, ${rounded(factor, 2)} times it` : "";
  return `${name} ${mass(given)}, ${wanted} ${mass(planned)}${comparison}`;
}
