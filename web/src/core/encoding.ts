/** UTF-8 bytes of a text, and base64url without padding (RFC 7515 section 2): what is hashed, signed and sent. */
import { InvalidInput } from "./errors.ts";

const ALPHABET = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
const CODES = Uint8Array.from(ALPHABET, (letter) => letter.charCodeAt(0));
/** Six bits for each letter's code; 64 for what is no letter. */
const SEXTETS = new Uint8Array(128).fill(64);
CODES.forEach((code, sextet) => {
  SEXTETS[code] = sextet;
});
const CHUNK = 4096;

/** The UTF-8 bytes of `text`. Raises InvalidInput for a lone surrogate, which has none. */
export function utf8(text: string): Uint8Array<ArrayBuffer> {
  const bytes = new Uint8Array(text.length);
  for (let at = 0; at < text.length; at += 1) {
    const unit = text.charCodeAt(at);
    if (unit >= 0x80) return utf8Beyond(text);
    bytes[at] = unit;
  }
  return bytes;
}

/** A text that is not ASCII alone. */
function utf8Beyond(text: string): Uint8Array<ArrayBuffer> {
  const bytes: number[] = [];
  for (const character of text) {
    const point = character.codePointAt(0) ?? 0;
    if (point < 0x80) bytes.push(point);
    else if (point < 0x800) bytes.push(0xc0 | (point >> 6), continuation(point));
    else if (point >= 0xd800 && point <= 0xdfff) {
      throw new InvalidInput("text", "a lone surrogate", "whole characters");
    } else if (point < 0x10000)
      bytes.push(0xe0 | (point >> 12), continuation(point >> 6), continuation(point));
    else
      bytes.push(
        0xf0 | (point >> 18),
        continuation(point >> 12),
        continuation(point >> 6),
        continuation(point),
      );
  }
  return Uint8Array.from(bytes);
}

function continuation(bits: number): number {
  return 0x80 | (bits & 0x3f);
}

/** The text of UTF-8 bytes. Raises InvalidInput where they are not UTF-8. */
export function textOf(bytes: Uint8Array): string {
  let text = "";
  for (let at = 0; at < bytes.length;) {
    const from = at;
    while (at < bytes.length && at - from < CHUNK && (bytes[at] ?? 0) < 0x80) at += 1;
    if (at > from) text += String.fromCharCode(...bytes.subarray(from, at));
    else {
      const [point, length] = pointAt(bytes, at);
      text += String.fromCodePoint(point);
      at += length;
    }
  }
  return text;
}

const LEAST = [0, 0, 0x80, 0x800, 0x10000] as const;

function pointAt(bytes: Uint8Array, at: number): readonly [point: number, length: number] {
  const first = bytes[at] ?? 0;
  if (first < 0x80) return [first, 1];
  const length = first >= 0xf0 ? 4 : first >= 0xe0 ? 3 : 2;
  let point = first & (0x7f >> length);
  for (let offset = 1; offset < length; offset += 1) {
    const byte = bytes[at + offset];
    if (byte === undefined || (byte & 0xc0) !== 0x80) throw notUtf8(at);
    point = (point << 6) | (byte & 0x3f);
  }
  const isSurrogate = point >= 0xd800 && point <= 0xdfff;
  if (first < 0xc0 || first > 0xf7 || point < (LEAST[length] ?? 0) || point > 0x10ffff || isSurrogate)
    throw notUtf8(at);
  return [point, length];
}

function notUtf8(at: number): InvalidInput {
  return new InvalidInput(`byte ${at}`, "another encoding", "UTF-8");
}

export function base64url(bytes: Uint8Array): string {
  const letters = new Uint8Array(Math.ceil((bytes.length * 4) / 3));
  for (let at = 0, to = 0; at < bytes.length; at += 3, to += 4) {
    const three = ((bytes[at] ?? 0) << 16) | ((bytes[at + 1] ?? 0) << 8) | (bytes[at + 2] ?? 0);
    // Letters beyond the last byte fall off the end of the array.
    letters[to] = CODES[three >> 18] ?? 0;
    letters[to + 1] = CODES[(three >> 12) & 63] ?? 0;
    letters[to + 2] = CODES[(three >> 6) & 63] ?? 0;
    letters[to + 3] = CODES[three & 63] ?? 0;
  }
  let text = "";
  for (let at = 0; at < letters.length; at += CHUNK) {
    text += String.fromCharCode(...letters.subarray(at, at + CHUNK));
  }
  return text;
}

/** The bytes of base64url text without padding. Raises InvalidInput for any other spelling of them. */
export function fromBase64url(text: string): Uint8Array<ArrayBuffer> {
  const bytes = new Uint8Array(Math.floor((text.length * 3) / 4));
  let held = 0;
  let bits = 0;
  let at = 0;
  for (let from = 0; from < text.length; from += 1) {
    const sextet = SEXTETS[text.charCodeAt(from)] ?? 64;
    if (sextet === 64) throw notBase64url();
    held = ((held << 6) | sextet) & 0xffff;
    bits += 6;
    if (bits >= 8) {
      bits -= 8;
      bytes[at] = (held >> bits) & 0xff;
      at += 1;
    }
  }
  const isLoose = (held & ((1 << bits) - 1)) !== 0;
  if (text.length % 4 === 1 || isLoose) throw notBase64url();
  return bytes;
}

function notBase64url(): InvalidInput {
  return new InvalidInput("base64url", "other characters or loose bits", "base64url without padding");
}
