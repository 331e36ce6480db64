/**
 * Canonical JSON (RFC 8785): the one sequence of bytes for a value, so that both sides hash and sign the same.
 * Numbers are whole and within plus or minus (2^53 - 1) here, so that the RFC's number formatting is plain decimal.
 */
import { InvalidInput } from "./errors.ts";
import type { Json } from "./json.ts";

/** The RFC 8785 text of a JSON value, to be encoded as UTF-8. Raises InvalidInput for what has no such form here. */
export function canonicalText(value: Json): string {
  if (typeof value === "number") {
    if (!Number.isSafeInteger(value)) {
      throw new InvalidInput("value", String(value), "a whole number within plus or minus 9007199254740991");
    }
    return String(value === 0 ? 0 : value);
  }
  if (typeof value !== "object" || value === null) return JSON.stringify(value);
  if (Array.isArray(value)) return `[${value.map(canonicalText).join(",")}]`;
  // RFC 8785 section 3.2.3: names are ordered by their UTF-16 code units, which is how JavaScript compares text.
  const members = Object.entries(value).toSorted(([a], [b]) => (a < b ? -1 : 1));
  return `{${members.map(([name, child]) => `${JSON.stringify(name)}:${canonicalText(child)}`).join(",")}}`;
}
