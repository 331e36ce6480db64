/** A lens as it is read from the box, piece by piece: model, sign, digits, quarter. It knows nothing of the plan. */
import { isImpossible, type RefuseBand } from "../format/typed.ts";
import { liveText } from "../text/en.ts";

export interface LensReading {
  readonly model: string;
  readonly sign: "+" | "-" | null;
  readonly digits: string;
  /** Hundredths after the point: 0, 25, 50 or 75; null until read. */
  readonly quarter: number | null;
}

export const EMPTY_LENS: LensReading = { model: "", sign: null, digits: "", quarter: null };
export const QUARTERS = [0, 25, 50, 75] as const;

/** Adds a digit; a third one starts the digits anew, as a slip of the finger is put right by typing on. */
export function withDigit(reading: LensReading, digit: string): LensReading {
  const digits = reading.digits.length >= 2 ? digit : reading.digits + digit;
  return { ...reading, digits };
}

/** The pieces not yet read, by name. */
export function stillToRead(reading: LensReading): readonly string[] {
  const missing = [];
  if (reading.model.trim() === "") missing.push(liveText.lens.model);
  if (reading.sign === null) missing.push(liveText.lens.sign);
  if (reading.digits === "") missing.push(liveText.lens.digits);
  if (reading.quarter === null) missing.push(liveText.lens.quarter);
  return missing;
}

/** The power in hundredths of a dioptre, null until sign, digits and quarter are read. */
export function powerOf({ sign, digits, quarter }: LensReading): number | null {
  if (sign === null || digits === "" || quarter === null) return null;
  const size = Number(digits) * 100 + quarter;
  return sign === "-" ? 0 - size : size;
}

/** True when the read power lies in the field's refuse band. */
export function isRefused(reading: LensReading, band: RefuseBand): boolean {
  const power = powerOf(reading);
  return power !== null && isImpossible(power, band);
}
