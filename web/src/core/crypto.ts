/** What the core needs of a crypto library, and no more; device/crypto.ts supplies it. */

/** A P-256 public key (RFC 7517). */
export interface Jwk {
  readonly kty: "EC";
  readonly crv: "P-256";
  readonly x: string;
  readonly y: string;
}

export interface Crypto {
  sha256(bytes: Uint8Array<ArrayBuffer>): Promise<Uint8Array<ArrayBuffer>>;
  /** Whether `signature` (r and s, 64 bytes) is the key holder's over `signed`. False, too, for a key that is none. */
  verify(jwk: Jwk, signature: Uint8Array<ArrayBuffer>, signed: Uint8Array<ArrayBuffer>): Promise<boolean>;
}

/** Signs bytes with one key: ECDSA P-256 with SHA-256, r and s, 64 bytes. */
export type Sign = (bytes: Uint8Array<ArrayBuffer>) => Promise<Uint8Array<ArrayBuffer>>;
