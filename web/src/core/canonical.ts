/**
 * Canonical JSON (RFC 8785): the one text for a value, so that both sides hash and sign the same bytes.
 *
 * Numbers are whole and within plus or minus (2^53 - 1) here, so that the RFC's number formatting is plain decimal.
 * The twin of server/core/canonical.py.
 */
import { InvalidInput } from "./errors.ts";
import { isObject } from "./json.ts";
import { utf8 } from "./encoding.ts";

const LONE_SURROGATE = /\p{Surrogate}/u;

/** The RFC 8785 bytes of a JSON value. Raises InvalidInput for what has no such form here. */
export function canonical(value: unknown): Uint8Array<ArrayBuffer> {
  return utf8(canonicalText(value));
}

/** The RFC 8785 text of a JSON value. Raises InvalidInput for what has no such form here. */
export function canonicalText(value: unknown): string {
  if (value === null || typeof value === "boolean") return String(value);
  if (typeof value === "string") return quoted(value);
  if (typeof value === "number") return whole(value);
  if (Array.isArray(value)) return `[${value.map(canonicalText).join(",")}]`;
  if (!isObject(value)) throw new InvalidInput("value", typeof value, "a JSON value without fractions");
  // RFC 8785 section 3.2.3: names are ordered by their UTF-16 code units, which is how JavaScript compares texts.
  const names = Object.keys(value).toSorted();
  return `{${names.map((name) => `${quoted(name)}:${canonicalText(value[name])}`).join(",")}}`;
}

function quoted(text: string): string {
  const literal = JSON.stringify(text);
  // JSON.stringify escapes a lone surrogate, and nothing else so.
  if (literal.includes("\\ud") && LONE_SURROGATE.test(text)) {
    throw new InvalidInput("value", "a lone surrogate", "whole characters");
  }
  return literal;
}

function whole(value: number): string {
  if (!Number.isSafeInteger(value)) {
    throw new InvalidInput("value", String(value), "a whole number within plus or minus 9007199254740991");
  }
  return String(value === 0 ? 0 : value); // -0 is 0
}
