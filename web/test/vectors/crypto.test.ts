/** Runs the shared test cases of ES256 and thumbprints (shared/vectors/crypto) against the browser's own crypto. */
import { readFileSync } from "node:fs";

import { describe, expect, test } from "vitest";

import type { Jwk } from "../../src/core/crypto.ts";
import { fromBase64url } from "../../src/core/encoding.ts";
import { jwkOf } from "../../src/core/entry.ts";
import { utf8 } from "../../src/core/encoding.ts";
import { thumbprint } from "../../src/core/jws.ts";
import { makePinKey, openPinKey, webCrypto } from "../../src/device/crypto.ts";

interface Vector {
  readonly id: string;
  readonly reason: string;
  readonly kind: "thumbprint" | "verify" | "key";
  readonly jwk: Jwk;
  readonly message?: string;
  readonly signature?: string;
  readonly expect: string;
}

const ADDRESS = new URL("../../../shared/vectors/crypto/es256.json", import.meta.url);
const { vectors } = JSON.parse(readFileSync(ADDRESS, "utf8")) as { readonly vectors: readonly Vector[] };

async function outcome({ kind, jwk, message = "", signature = "" }: Vector): Promise<string> {
  try {
    const key = jwkOf({ ...jwk });
    if (kind === "thumbprint") return await thumbprint(webCrypto, key);
    const fits = await webCrypto.verify(key, fromBase64url(signature), utf8(message));
    return fits ? "fits" : "refused";
  } catch {
    return "refused";
  }
}

describe("signatures and thumbprints are what the shared vectors say", () => {
  test.each(vectors.map((vector) => [vector.id, vector.reason, vector] as const))(
    "%s %s",
    async (_id, _reason, vector) => {
      expect(await outcome(vector)).toBe(vector.expect);
    },
  );
});

describe("a key under a PIN", () => {
  test("signs for its own PIN, under the public key that was made with it, and opens for no other", async () => {
    const { jwk, key } = await makePinKey("402917");
    expect(key.iterations).toBe(600_000);
    const sign = await openPinKey(key, "402917");
    const message = utf8("statement");
    const signature = await sign?.(message);
    expect(signature !== undefined && (await webCrypto.verify(jwk, signature, message))).toBe(true);
    expect(await openPinKey(key, "402918")).toBeNull();
  });
});
