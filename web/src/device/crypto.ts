/** WebCrypto: hashing, signing, random bytes, and keys that are opened by a PIN. Nothing here stores anything. */
import type { Crypto, Jwk, Sign } from "../core/crypto.ts";
import { jwkOf } from "../core/entry.ts";
import { base64url, fromBase64url, utf8 } from "../core/encoding.ts";

type Bytes = Uint8Array<ArrayBuffer>;

const P256 = { name: "ECDSA", namedCurve: "P-256" } as const;
const ECDSA = { name: "ECDSA", hash: "SHA-256" } as const;
const IV_BYTES = 12;

/** OWASP's figure for PBKDF2-HMAC-SHA-256. A short PIN stays weak against a stolen disk: the record says `pin`. */
export const PIN_ITERATIONS = 600_000;

export const webCrypto: Crypto = {
  async sha256(bytes) {
    return new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  },
  async verify(jwk, signature, signed) {
    try {
      const { kty, crv, x, y } = jwk;
      const key = await crypto.subtle.importKey("jwk", { kty, crv, x, y }, P256, false, ["verify"]);
      return await crypto.subtle.verify(ECDSA, key, signature, signed);
    } catch {
      return false; // a key that is no point of the curve has signed nothing
    }
  },
};

/** Browsers offer keys only to pages that came over https, or from this machine itself. */
export function hasCrypto(): boolean {
  return (globalThis.crypto as { subtle?: unknown } | undefined)?.subtle !== undefined;
}

export function randomBytes(count: number): Bytes {
  return crypto.getRandomValues(new Uint8Array(count));
}

/** 0 to 1, for the wait between two uploads. */
export function chance(): number {
  const [number = 0] = crypto.getRandomValues(new Uint32Array(1));
  return number / 0xffffffff;
}

/** A device's key pair: the private half can sign and can never be read. */
export async function makeDeviceKeys(): Promise<CryptoKeyPair> {
  return crypto.subtle.generateKey(P256, false, ["sign", "verify"]);
}

export async function publicJwk(key: CryptoKey): Promise<Jwk> {
  const { kty, crv, x, y } = await crypto.subtle.exportKey("jwk", key);
  return jwkOf({ kty: kty ?? null, crv: crv ?? null, x: x ?? null, y: y ?? null });
}

export function signerOf(privateKey: CryptoKey): Sign {
  return async (bytes) => new Uint8Array(await crypto.subtle.sign(ECDSA, privateKey, bytes));
}

/** A private key (PKCS #8) wrapped with AES-GCM under a key made from the PIN. Salt, IV and bytes in base64url. */
export interface WrappedKey {
  readonly wrapped: string;
  readonly iv: string;
  readonly salt: string;
  readonly iterations: number;
}

export interface NewPinKey {
  readonly jwk: Jwk;
  readonly key: WrappedKey;
}

export async function makePinKey(pin: string): Promise<NewPinKey> {
  const pair = await crypto.subtle.generateKey(P256, true, ["sign", "verify"]);
  const [salt, iv] = [randomBytes(16), randomBytes(IV_BYTES)];
  const wrapping = await pinWrappingKey(pin, salt, PIN_ITERATIONS);
  const wrapped = await crypto.subtle.wrapKey("pkcs8", pair.privateKey, wrapping, { name: "AES-GCM", iv });
  const key = {
    wrapped: base64url(new Uint8Array(wrapped)),
    iv: base64url(iv),
    salt: base64url(salt),
    iterations: PIN_ITERATIONS,
  };
  return { jwk: await publicJwk(pair.publicKey), key };
}

/** Opens the key for one signature; it cannot be read, and is gone when nothing refers to it. Null for another PIN. */
export async function openPinKey(key: WrappedKey, pin: string): Promise<Sign | null> {
  const wrapping = await pinWrappingKey(pin, fromBase64url(key.salt), key.iterations);
  const opened = { name: "AES-GCM", iv: fromBase64url(key.iv) };
  const wrapped = fromBase64url(key.wrapped);
  try {
    return signerOf(await crypto.subtle.unwrapKey("pkcs8", wrapped, wrapping, opened, P256, false, ["sign"]));
  } catch {
    return null; // AES-GCM tells another PIN by its tag
  }
}

async function pinWrappingKey(pin: string, salt: Bytes, iterations: number): Promise<CryptoKey> {
  const secret = await crypto.subtle.importKey("raw", utf8(pin), "PBKDF2", false, ["deriveKey"]);
  const stretch = { name: "PBKDF2", hash: "SHA-256", salt, iterations };
  return crypto.subtle.deriveKey(stretch, secret, { name: "AES-GCM", length: 256 }, false, [
    "wrapKey",
    "unwrapKey",
  ]);
}
