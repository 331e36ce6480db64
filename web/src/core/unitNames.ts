/** Which of the protocol's unit values are ranges, and which are limits: their own form tells. */
import type { Protocol } from "./protocol.ts";

/** Names of the values that are [low, high], in the order of the file. */
export function rangeNames({ unit_values }: Protocol): readonly string[] {
  return Object.keys(unit_values).filter((name) => Array.isArray(unit_values[name]));
}

/** Names of the values that are one whole number, in the order of the file. */
export function limitNames({ unit_values }: Protocol): readonly string[] {
  return Object.keys(unit_values).filter((name) => typeof unit_values[name] === "number");
}
