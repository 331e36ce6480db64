/** Strength, volume and mass shown together; exact fractions of whole numbers, the mass by the judge's own sum. */
import { shownText } from "../text/en.ts";
import { fraction, type Fraction } from "../../core/fraction.ts";
import { dose_ug } from "../../core/judge/dose.ts";
import { isObject, type JsonObject } from "../../core/json.ts";
import { isList } from "./jsonParts.ts";
import { quantity } from "./quantities.ts";

type Value = JsonObject;

/** One stage of a dilution chain: the strength after it, null where it cannot be told. */
export interface Stage {
  readonly take_ul: number | null;
  readonly add_ul: number;
  readonly strength: Fraction | null;
}

/** `strength`: of what goes into the syringe, in ug/mL; null where not all is read or a divisor is 0. */
export interface Chain {
  readonly vial_ug: number | null;
  readonly stages: readonly Stage[];
  readonly strength: Fraction | null;
}

/** A strength read from a label, or the dilution chain. */
export function chainOf(value: Value): Chain {
  const strength = wholeAt(value, "strength_ug_ml");
  const vial_ug = wholeAt(value, "vial_ug");
  const diluent_ul = wholeAt(value, "diluent_ul");
  if (vial_ug === null || diluent_ul === null) {
    return { vial_ug, stages: [], strength: strength === null ? null : fraction(BigInt(strength)) };
  }
  // ug per uL is mg/mL; times 1000 is ug/mL.
  let now = part(BigInt(vial_ug) * 1000n, BigInt(diluent_ul));
  const stages: Stage[] = [{ take_ul: null, add_ul: diluent_ul, strength: now }];
  for (const { take_ul, add_ul } of dilutionsOf(value)) {
    now =
      now === null ? null : part(now.numerator * BigInt(take_ul), now.denominator * BigInt(take_ul + add_ul));
    stages.push({ take_ul, add_ul, strength: now });
  }
  return { vial_ug, stages, strength: now };
}

/** Mass in ug of strength times volume, or null where one is not known. */
export function doseOf(value: Value): Fraction | null {
  return dose_ug({ get: (field) => value[field] });
}

/** "1 mg", "0.3 mg"; a mass that does not end within a microgram is said to be about so much. */
export function massText(mass_ug: Fraction): string {
  return fractionText(mass_ug, "dose_ug");
}

export function strengthText({ strength }: Pick<Chain, "strength">): string {
  return strength === null ? "" : fractionText(strength, "strength_ug_ml");
}

function fractionText({ numerator: over, denominator: under }: Fraction, fieldName: string): string {
  const whole = over / under;
  const isExact = over % under === 0n;
  const nearest = (2n * over + under) / (2n * under);
  return isExact ? quantity(Number(whole), fieldName) : shownText.about(quantity(Number(nearest), fieldName));
}

/** How many times the planned dose, to one decimal: "10", "0.2", "3.1". */
export function timesText(mass_ug: Fraction, planned_ug: number): string {
  const under = mass_ug.denominator * BigInt(planned_ug);
  const tenths = (20n * mass_ug.numerator + under) / (2n * under);
  const rest = tenths % 10n;
  return rest === 0n ? String(tenths / 10n) : `${tenths / 10n}.${rest}`;
}

/** Null where a divisor is zero: the strength is not known then. */
function part(numerator: bigint, denominator: bigint): Fraction | null {
  return denominator === 0n ? null : fraction(numerator, denominator);
}

function wholeAt(value: Value, name: string): number | null {
  const found = value[name];
  return typeof found === "number" ? found : null;
}

function dilutionsOf(value: Value): readonly { take_ul: number; add_ul: number }[] {
  const then = value["then"];
  if (!isList(then)) return [];
  return then.flatMap((stage) => {
    if (!isObject(stage)) return [];
    const { take_ul, add_ul } = stage;
    return typeof take_ul === "number" && typeof add_ul === "number" ? [{ take_ul, add_ul }] : [];
  });
}
