/** Runs the shared test cases of entries and sealed texts (shared/vectors/entry); the server's runner runs the same. */
import { readFileSync } from "node:fs";

import { describe, expect, test } from "vitest";

import { fromBase64url } from "../../src/core/encoding.ts";
import { seal, verifyEntry, type Place } from "../../src/core/entry.ts";
import type { Jwk } from "../../src/core/crypto.ts";
import type { JsonObject } from "../../src/core/json.ts";
import { canonicalText } from "../../src/core/canonical.ts";
import { webCrypto } from "../../src/device/crypto.ts";

interface EntryVector {
  readonly id: string;
  readonly reason: string;
  readonly source: string;
  readonly input: { readonly jws: string; readonly place: Place };
  readonly expect: { readonly digest?: string; readonly event?: JsonObject; readonly refused?: string };
}

interface SealVector {
  readonly id: string;
  readonly reason: string;
  readonly source: string;
  readonly input: { readonly salt: string; readonly text: string };
  readonly expect: string;
}

interface File {
  readonly unit: string;
  readonly device: string;
  readonly jwk: Jwk;
  readonly vectors: readonly EntryVector[];
  readonly seals: readonly SealVector[];
}

const ADDRESS = new URL("../../../shared/vectors/entry/entries.json", import.meta.url);
const file = JSON.parse(readFileSync(ADDRESS, "utf8")) as File;
const MEMBERS = ["id", "reason", "source", "input", "expect"];

describe("an entry is verified as the shared vectors say", () => {
  test.each(file.vectors.map((vector) => [vector.id, vector.reason, vector] as const))(
    "%s %s",
    async (_id, _reason, { input, expect: expected, ...rest }) => {
      expect([...Object.keys(rest), "input", "expect"]).toEqual(MEMBERS);
      const verified = verifyEntry(webCrypto, input.jws, file.jwk, file, input.place);
      if (expected.refused !== undefined) {
        await expect(verified).rejects.toMatchObject({ name: expected.refused });
        return;
      }
      const entry = await verified;
      expect(entry.digest).toBe(expected.digest);
      expect(canonicalText(entry.event)).toBe(canonicalText(expected.event));
    },
  );
});

describe("a text is sealed as the shared vectors say", () => {
  test.each(file.seals.map((vector) => [vector.id, vector.reason, vector] as const))(
    "%s %s",
    async (_id, _reason, { input, expect: expected }) => {
      expect((await seal(webCrypto, fromBase64url(input.salt), input.text)).sha256).toBe(expected);
    },
  );
});
