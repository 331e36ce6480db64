/** Compact JWS ES256 (RFC 7515, RFC 7518), digests and thumbprints (RFC 7638), over canonical payloads. */
import { canonical, canonicalText } from "./canonical.ts";
import type { Crypto, Jwk, Sign } from "./crypto.ts";
import { InvalidInput, TamperedRecord } from "./errors.ts";
import { base64url, fromBase64url, textOf, utf8 } from "./encoding.ts";

const JWS = /^([A-Za-z0-9_-]+)\.([A-Za-z0-9_-]+)\.([A-Za-z0-9_-]{86})$/;

/** Signs the canonical bytes of `payload` under the header type `typ`. */
export async function signJws(sign: Sign, typ: string, payload: unknown): Promise<string> {
  const signed = `${header(typ)}.${base64url(canonical(payload))}`;
  return `${signed}.${base64url(await sign(utf8(signed)))}`;
}

/** The payload text of a JWS of this type, nothing verified. Raises InvalidInput where it is none. */
export function payloadText(jws: string, typ: string): string {
  const [, head, payload] = JWS.exec(jws) ?? [];
  if (payload === undefined || head !== header(typ)) {
    throw new InvalidInput("jws", "another form or header", `a compact JWS ES256 of type ${typ}`);
  }
  return textOf(fromBase64url(payload));
}

/** The payload text of a JWS. Raises InvalidInput for its form, TamperedRecord for its signature. */
export async function verifyJws(crypto: Crypto, jws: string, typ: string, jwk: Jwk): Promise<string> {
  const payload = payloadText(jws, typ);
  const parted = jws.lastIndexOf(".");
  const signature = fromBase64url(jws.slice(parted + 1));
  if (!(await crypto.verify(jwk, signature, utf8(jws.slice(0, parted))))) {
    throw new TamperedRecord("the signature does not fit the key and the content");
  }
  return payload;
}

/** Base64url SHA-256 over the UTF-8 bytes of `text`. */
export async function digestOf(crypto: Crypto, text: string): Promise<string> {
  return base64url(await crypto.sha256(utf8(text)));
}

/** RFC 7638 thumbprint of a P-256 public key. */
export function thumbprint(crypto: Crypto, { crv, kty, x, y }: Jwk): Promise<string> {
  return digestOf(crypto, canonicalText({ crv, kty, x, y }));
}

const headers = new Map<string, string>();

function header(typ: string): string {
  let held = headers.get(typ);
  if (held === undefined) {
    held = base64url(canonical({ alg: "ES256", typ }));
    headers.set(typ, held);
  }
  return held;
}
