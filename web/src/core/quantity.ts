/**
 * Quantities as people read them (contract section 1): never .1, never a trailing zero on a whole dose.
 * Whole numbers in base units, or exact fractions of them, go in; text comes out.
 */
import type { Fraction } from "./fraction.ts";

/** A whole number divided by 10**places, exact, thousands parted by commas: 5250 with 3 places is "5.25". */
export function decimal(whole: bigint, places: number, placesMin = 0): string {
  const sign = whole < 0n ? "-" : "";
  const digits = String(whole < 0n ? -whole : whole).padStart(places + 1, "0");
  const before = digits.slice(0, digits.length - places);
  const after = digits
    .slice(digits.length - places)
    .replace(/0+$/, "")
    .padEnd(placesMin, "0");
  const grouped = String(BigInt(before)).replaceAll(/\B(?=(?:\d{3})+$)/g, ",");
  return `${sign}${grouped}${after ? `.${after}` : ""}`;
}

/** A fraction to at most `places` decimals, halves away from zero, "about" in front where it is not exact. */
export function rounded({ numerator, denominator }: Fraction, places: number): string {
  const scaled = (numerator < 0n ? -numerator : numerator) * 10n ** BigInt(places);
  const whole = (2n * scaled + denominator) / (2n * denominator);
  const text = decimal(numerator < 0n ? -whole : whole, places);
  return whole * denominator === scaled ? text : `about ${text}`;
}

export function length(um: bigint): string {
  return `${decimal(um, 3, 1)} mm`;
}

export function mass({ numerator, denominator }: Fraction): string {
  return `${rounded({ numerator, denominator: denominator * 1000n }, 4)} mg`;
}

export function power(cdpt: number): string {
  return `${cdpt < 0 ? "-" : "+"}${decimal(BigInt(Math.abs(cdpt)), 2, 2)} D`;
}

/** Minutes and seconds; a part of a second that has begun counts, so that 60,001 ms is not shown as 1:00. */
export function span(ms: bigint): string {
  const up = ms > 0n ? (ms + 999n) / 1000n : ms / 1000n;
  const seconds = up < 0n ? -up : up;
  return `${up < 0n ? "-" : ""}${seconds / 60n}:${String(seconds % 60n).padStart(2, "0")} min`;
}

const SHOWN: readonly (readonly [string, (whole: bigint) => string])[] = [
  ["_um", length],
  ["_mmhg", (mmhg) => `${decimal(mmhg, 0)} mmHg`],
  ["_ul_min", (ul_min) => `${decimal(ul_min, 3)} mL/min`],
  ["_cdpt", (cdpt) => power(Number(cdpt))],
  ["_s", (s) => span(1000n * s)],
];

/** The value of the field named `field`, by the unit that ends its name. */
export function shown(field: string, whole: number): string {
  const show = SHOWN.find(([ending]) => field.endsWith(ending))?.[1];
  return show ? show(BigInt(whole)) : decimal(BigInt(whole), 0);
}
