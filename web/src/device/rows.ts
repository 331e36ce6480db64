/** The rows of this tablet's database. */
import type { Jwk } from "../core/crypto.ts";
import type { LogOwner, SealedText } from "../core/entry.ts";
import type { WrappedKey } from "./crypto.ts";

/** One row of the log. `texts` stand beside the entry, never inside it. */
export interface StoredEntry {
  readonly device: string;
  readonly seq: number;
  readonly digest: string;
  readonly jws: string;
  readonly texts: readonly SealedText[];
}

/** This tablet in its unit. `serverJwk` is pinned: what it did not sign is no acknowledgement. */
export interface Enrolment extends LogOwner {
  readonly name: string;
  readonly serverJwk: Jwk;
  readonly keys: CryptoKeyPair;
}

/** A surgeon's key on this tablet, opened by a PIN. `person` is the sealed staff code that the certificate names. */
export interface PinKey {
  readonly code: string;
  readonly device: string;
  readonly jwk: Jwk;
  readonly key: WrappedKey;
  readonly certificate: string;
  readonly person: SealedText;
}
