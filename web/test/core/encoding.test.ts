/** UTF-8 and base64url are those of the platform, and other spellings are refused. */
import * as fc from "fast-check";
import { describe, expect, it } from "vitest";

import { base64url, fromBase64url, textOf, utf8 } from "../../src/core/encoding.ts";

const texts = fc.string({ unit: "binary", maxLength: 40 });
const bytes = fc.uint8Array({ maxLength: 70 });

describe("UTF-8", () => {
  it("is what the platform writes and reads", () => {
    fc.assert(
      fc.property(texts, (text) => {
        expect([...utf8(text)]).toEqual([...new TextEncoder().encode(text)]);
        expect(textOf(utf8(text))).toBe(text);
      }),
    );
  });

  it("is refused where the platform refuses it", () => {
    const strict = new TextDecoder("utf-8", { fatal: true, ignoreBOM: true });
    fc.assert(
      fc.property(bytes, (given) => {
        let wanted: string | null = null;
        try {
          wanted = strict.decode(given);
        } catch {
          // Not UTF-8.
        }
        if (wanted === null) expect(() => textOf(given)).toThrow("expected UTF-8");
        else expect(textOf(given)).toBe(wanted);
      }),
      { numRuns: 2_000 },
    );
  });

  it.each([
    ["half a character", [0xed, 0xa0, 0x80]],
    ["a longer form than needed", [0xc0, 0x80]],
    ["a point beyond the last", [0xf4, 0x90, 0x80, 0x80]],
    ["a lost beginning", [0x80]],
    ["a lost end", [0xe2, 0x82]],
  ])("is refused for %s", (_words, given) => {
    expect(() => textOf(Uint8Array.from(given))).toThrow("expected UTF-8");
  });

  it("has no form for half a character", () => {
    expect(() => utf8("a\ud800b")).toThrow("lone surrogate");
  });
});

describe("base64url", () => {
  it("is what the platform writes, without padding, and is read back", () => {
    fc.assert(
      fc.property(bytes, (given) => {
        const text = base64url(given);
        expect(text).toBe(Buffer.from(given).toString("base64url"));
        expect([...fromBase64url(text)]).toEqual([...given]);
      }),
    );
  });

  it.each(["A", "AA==", "AB", "A+", "A/", "A A", "AAAAA", "é"])("has no bytes for %j", (text) => {
    expect(() => fromBase64url(text)).toThrow("base64url without padding");
  });
});
