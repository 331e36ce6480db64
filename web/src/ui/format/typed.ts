/** Reads a number as a person typed it, in shown units, into whole base units; says why when it cannot be. */
import { shownText } from "../text/en.ts";
import { digitsOf } from "./quantities.ts";
import { unitOf, type Unit } from "./units.ts";

/** Values below, above, or between the multiples cannot be: they are never stored. */
export interface RefuseBand {
  readonly below?: number | undefined;
  readonly above?: number | undefined;
  readonly multiple_of?: number | undefined;
}

/** `empty`: nothing typed; `not_a_number`, `too_fine`: no whole base unit; `impossible`: inside a refuse band. */
export type Typed =
  | { readonly kind: "whole"; readonly whole: number }
  | { readonly kind: "empty" | "not_a_number" | "too_fine" | "impossible" };

const NUMBER = /^([+\-\u2212]?)(\d{1,9})(?:[.,](\d{1,6}))?$/;

/** Both "." and "," are decimal marks; a number never needs its sign unless it is below zero. */
export function readTyped(text: string, fieldName: string, band: RefuseBand = {}): Typed {
  const plain = text.trim();
  if (plain === "") return { kind: "empty" };
  const parts = NUMBER.exec(plain);
  if (!parts) return { kind: "not_a_number" };
  const [, sign = "", units = "", decimals = ""] = parts;
  const unit = unitOf(fieldName);
  const scale = 10n ** BigInt(decimals.length);
  const scaled = BigInt(units + decimals) * BigInt(unit.perShown);
  if (scaled % scale !== 0n) return { kind: "too_fine" };
  const size = Number(scaled / scale);
  const whole = sign === "" || sign === "+" ? size : 0 - size;
  return isImpossible(whole, band) ? { kind: "impossible" } : { kind: "whole", whole };
}

/** True when the number lies in the field's refuse band: a slip of the finger, not a danger. */
export function isImpossible(whole: number, band: RefuseBand): boolean {
  if (band.below !== undefined && whole < band.below) return true;
  if (band.above !== undefined && whole > band.above) return true;
  return band.multiple_of !== undefined && whole % band.multiple_of !== 0;
}

/** The possible range in shown units: "1.0 to 7.0 mm in steps of 0.1". */
export function possibleRange(fieldName: string, band: RefuseBand): string {
  const unit = unitOf(fieldName);
  const ends = rangeEnds(unit, band);
  const steps =
    band.multiple_of === undefined ? "" : ` ${shownText.inSteps(stepText(band.multiple_of, unit))}`;
  return `${ends}${unit.word === "" ? "" : ` ${unit.word}`}${steps}`;
}

function rangeEnds(unit: Unit, { below, above }: RefuseBand): string {
  if (below !== undefined && above !== undefined)
    return shownText.range(digitsOf(below, unit), digitsOf(above, unit));
  if (below !== undefined) return shownText.orMore(digitsOf(below, unit));
  if (above !== undefined) return shownText.upTo(digitsOf(above, unit));
  return shownText.whole;
}

function stepText(multiple: number, unit: Unit): string {
  return digitsOf(multiple, { ...unit, signed: false });
}
