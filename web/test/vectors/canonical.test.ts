/** Runs the shared test cases of canonical JSON (shared/vectors/canonical); the server's runner runs the same ones. */
import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";

import * as fc from "fast-check";
import { describe, expect, it, test } from "vitest";

import { canonical, canonicalText } from "../../src/core/canonical.ts";
import { parse } from "../../src/core/strictJson.ts";

interface Vector {
  readonly id: string;
  readonly reason: string;
  readonly source: string;
  readonly input: { readonly json: string };
  readonly expect: {
    readonly text?: string;
    readonly utf8_hex?: string;
    readonly sha256_hex?: string;
    readonly refused?: string;
  };
}

const ADDRESS = new URL("../../../shared/vectors/canonical/rfc8785.json", import.meta.url);
const { vectors } = JSON.parse(readFileSync(ADDRESS, "utf8")) as { readonly vectors: readonly Vector[] };

describe("canonical JSON is what the shared vectors say", () => {
  test.each(vectors.map((vector) => [vector.id, vector.reason, vector] as const))(
    "%s %s",
    (_id, _reason, { input, expect: expected }) => {
      const write = () => canonical(parse(input.json));
      if (expected.refused !== undefined) {
        expect(write).toThrow(expect.objectContaining({ name: expected.refused }));
        return;
      }
      const bytes = Buffer.from(write());
      const wanted =
        expected.utf8_hex === undefined
          ? Buffer.from(expected.text ?? "")
          : Buffer.from(expected.utf8_hex, "hex");
      expect(bytes.toString("hex")).toBe(wanted.toString("hex"));
      if (expected.sha256_hex !== undefined) {
        expect(createHash("sha256").update(bytes).digest("hex")).toBe(expected.sha256_hex);
      }
    },
  );
});

describe("canonical JSON", () => {
  const texts = fc.string({ unit: "grapheme" });
  const values = fc.letrec((tie) => ({
    value: fc.oneof(
      { depthSize: "small", withCrossShrink: true },
      fc.constant(null),
      fc.boolean(),
      fc.maxSafeInteger(),
      texts,
      fc.array(tie("value"), { maxLength: 4 }),
      fc.dictionary(texts, tie("value"), { maxKeys: 4 }),
    ),
  })).value;

  it("is read as the value that was written", () => {
    fc.assert(
      fc.property(values, (value) => {
        expect(JSON.parse(canonicalText(value))).toEqual(value);
      }),
    );
  });

  it("does not depend on the order in which members were put in", () => {
    fc.assert(
      fc.property(fc.dictionary(texts, fc.nat(), { minKeys: 2 }), (members) => {
        const turned = Object.fromEntries(Object.entries(members).toReversed());
        expect(canonicalText(turned)).toBe(canonicalText(members));
      }),
    );
  });

  it("has no form for fractions, numbers beyond 2^53 - 1, halves of characters and what is not JSON", () => {
    for (const value of [0.5, Number.NaN, Infinity, 2 ** 53, "\ud800", { "\udfff": 1 }, undefined, 1n]) {
      expect(() => canonicalText(value)).toThrow();
    }
  });
});
