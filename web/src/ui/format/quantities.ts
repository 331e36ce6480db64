/** Whole base units as words people read: 0.1 and never .1, no trailing zero on a whole dose, signed dioptres. */
import { unitOf, type Unit } from "./units.ts";

const MINUS = "\u2212";
const NO_BREAK = "\u00a0";

/** Digits only, without the unit's word: "2.2", "+21.50", "0.12". */
export function digitsOf(whole: number, unit: Unit): string {
  const size = Math.abs(whole);
  const units = Math.floor(size / unit.perShown);
  const decimals = trimmed(fraction(size % unit.perShown, unit.perShown), unit);
  const sign = whole < 0 ? MINUS : unit.signed ? "+" : "";
  return `${sign}${units}${decimals === "" ? "" : `.${decimals}`}`;
}

/** Digits and unit word, kept on one line: "2.2 mm", "+21.50 D". */
export function quantity(whole: number, fieldName: string): string {
  const unit = unitOf(fieldName);
  const digits = digitsOf(whole, unit);
  return unit.word === "" ? digits : `${digits}${NO_BREAK}${unit.word}`;
}

export function dioptres(power_cdpt: number): string {
  return quantity(power_cdpt, "power_cdpt");
}

/** The decimals of rest / perShown, at most 4 digits (enough for every base unit but thirds of a minute). */
function fraction(rest: number, perShown: number): string {
  return String(Math.round((rest * 10_000) / perShown)).padStart(4, "0");
}

function trimmed(decimals: string, unit: Unit): string {
  const least = unit.keepZeros ? unit.decimals : 0;
  let text = decimals;
  while (text.length > least && text.endsWith("0")) text = text.slice(0, -1);
  return text;
}
