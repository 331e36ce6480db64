/**
 * One entry of a device's log, and what the server signs for that device. The twin of server/core/entry.py.
 *
 * An entry is a JWS whose payload names unit, device, sequence number, the entry before, and one event. The bytes that
 * were signed are kept as they are; nothing here writes them anew to verify them.
 */
import type { Crypto, Jwk, Sign } from "./crypto.ts";
import { InvalidInput, TamperedRecord } from "./errors.ts";
import type { Json, JsonObject } from "./json.ts";
import { digestOf, payloadText, signJws, thumbprint, verifyJws } from "./jws.ts";
import { parse } from "./strictJson.ts";
import { base64url, utf8 } from "./encoding.ts";
import { describe, needObject, needText, needWhole } from "./values.ts";

export const ENTRY = "hubheld-entry";
export const CERTIFICATE = "hubheld-certificate";
export const RECEIPT = "hubheld-receipt";
export const PIN_KEY = "hubheld-pin-key";
export const REQUEST = "hubheld-request";
export const SALT_BYTES = 16;

const ENVELOPE = ["device", "event", "prev", "seq", "unit", "v"];

/** A text that stands in signed payloads as its digest; `salt` is 16 bytes in base64url. */
export interface SealedText {
  readonly sha256: string;
  readonly salt: string;
  readonly text: string;
}

/** The tablet that writes a log. `certificate` is the server's word on it and the root of the chain. */
export interface LogOwner {
  readonly unit: string;
  readonly device: string;
  readonly certificate: string;
}

/** Where the next entry goes: its number, and the digest of what stands before it. */
export interface Place {
  readonly seq: number;
  readonly prev: string;
}

/** An event of a log. `id` and `type` are always there; all else depends on the type. */
export type LogEvent = JsonObject & { readonly id: string; readonly type: string };

export interface Entry {
  readonly jws: string;
  readonly digest: string;
  readonly device: string;
  readonly seq: number;
  readonly event: LogEvent;
}

export interface Certificate extends LogOwner {
  readonly jwk: Jwk;
  readonly name: string;
}

/** The server holds `n` entries of this device; `head` is the digest of the last (of the certificate for none). */
export interface Receipt {
  readonly jws: string;
  readonly device: string;
  readonly n: number;
  readonly head: string;
  readonly epoch: number;
  readonly at_ms: number;
}

/** Signs one entry at its place. */
export async function buildEntry(
  crypto: Crypto,
  sign: Sign,
  owner: Pick<LogOwner, "unit" | "device">,
  place: Place,
  event: LogEvent,
): Promise<Entry> {
  const { unit, device } = owner;
  const jws = await signJws(sign, ENTRY, { v: 1, unit, device, ...place, event });
  return { jws, digest: await digestOf(crypto, jws), device, seq: place.seq, event };
}

/** Reads an entry of our own store without verifying it: its event, and its number. */
export function readEntry(jws: string, digest: string): Entry {
  const payload = envelopeOf(payloadText(jws, ENTRY), "entry");
  const event = eventOf(payload, "entry");
  return {
    jws,
    digest,
    device: needText(payload["device"], "device"),
    seq: needWhole(payload["seq"], "seq"),
    event,
  };
}

/**
 * Verifies the entry that is to stand at `place`.
 * Raises InvalidInput where its form is wrong, TamperedRecord where signature, place or chain do not fit.
 */
export async function verifyEntry(
  crypto: Crypto,
  jws: string,
  jwk: Jwk,
  owner: Pick<LogOwner, "unit" | "device">,
  place: Place,
): Promise<Entry> {
  const where = `entry ${place.seq}`;
  const payload = envelopeOf(await verifyJws(crypto, jws, ENTRY, jwk), where);
  const expected: JsonObject = {
    v: 1,
    unit: owner.unit,
    device: owner.device,
    seq: place.seq,
    prev: place.prev,
  };
  for (const [name, value] of Object.entries(expected)) {
    if (payload[name] === value) continue;
    throw new TamperedRecord(
      `${where}: its ${name} is ${describe(payload[name])}, expected ${describe(value)}`,
    );
  }
  return {
    jws,
    digest: await digestOf(crypto, jws),
    device: owner.device,
    seq: place.seq,
    event: eventOf(payload, where),
  };
}

/** An envelope has exactly its own members; unknown ones are refused here and kept inside events. */
function envelopeOf(text: string, where: string): JsonObject {
  const payload = needObject(parse(text), where);
  if (Object.keys(payload).toSorted().join() !== ENVELOPE.join()) {
    throw new InvalidInput(where, "other members", `exactly ${ENVELOPE.join(", ")}`);
  }
  for (const name of ["unit", "device", "prev"]) needText(payload[name], `${where}.${name}`);
  for (const name of ["v", "seq"]) needWhole(payload[name], `${where}.${name}`);
  return payload;
}

function eventOf(payload: JsonObject, where: string): LogEvent {
  const event = needObject(payload["event"], `${where}.event`);
  const { id, type } = event;
  if (typeof id !== "string" || typeof type !== "string") {
    throw new InvalidInput(`${where}.event`, "no id or no type", "an event with id and type");
  }
  return event as LogEvent;
}

/** Verifies a device's certificate. Raises InvalidInput or TamperedRecord. */
export async function verifyCertificate(crypto: Crypto, jws: string, serverJwk: Jwk): Promise<Certificate> {
  const payload = needObject(parse(await verifyJws(crypto, jws, CERTIFICATE, serverJwk)), "certificate");
  const [unit, device, name] = ["unit", "device", "name"].map((member) => needText(payload[member], member));
  const jwk = jwkOf(payload["jwk"]);
  if (
    unit === undefined ||
    device === undefined ||
    name === undefined ||
    (await thumbprint(crypto, jwk)) !== device
  ) {
    throw new TamperedRecord("the certificate names another device than its key");
  }
  return { unit, device, certificate: jws, jwk, name };
}

/** Verifies a receipt for this log. Raises InvalidInput or TamperedRecord. */
export async function verifyReceipt(
  crypto: Crypto,
  jws: string,
  serverJwk: Jwk,
  owner: Pick<LogOwner, "unit" | "device">,
): Promise<Receipt> {
  const payload = needObject(parse(await verifyJws(crypto, jws, RECEIPT, serverJwk)), "receipt");
  if (payload["unit"] !== owner.unit || payload["device"] !== owner.device) {
    throw new TamperedRecord("the receipt is for another tablet");
  }
  const [n, epoch, at_ms] = ["n", "epoch", "at_ms"].map((member) =>
    needWhole(payload[member], `receipt.${member}`),
  );
  const head = needText(payload["head"], "receipt.head");
  return { jws, device: owner.device, n: n ?? 0, head, epoch: epoch ?? 0, at_ms: at_ms ?? 0 };
}

/** The certificate of a surgeon's key on this tablet. Raises InvalidInput or TamperedRecord. */
export async function verifyPinKey(
  crypto: Crypto,
  jws: string,
  serverJwk: Jwk,
  owner: Pick<LogOwner, "unit" | "device">,
  jwk: Jwk,
): Promise<void> {
  const payload = needObject(parse(await verifyJws(crypto, jws, PIN_KEY, serverJwk)), "pin key");
  const certified = jwkOf(payload["jwk"]);
  const isOurs = payload["unit"] === owner.unit && payload["device"] === owner.device;
  if (!isOurs || certified.x !== jwk.x || certified.y !== jwk.y) {
    throw new TamperedRecord("the certificate is for another key or another tablet");
  }
}

export function jwkOf(value: Json | undefined): Jwk {
  const { kty, crv, x, y } = needObject(value, "jwk");
  if (kty !== "EC" || crv !== "P-256" || typeof x !== "string" || typeof y !== "string") {
    throw new InvalidInput("jwk", "another key", "a P-256 public key as JWK");
  }
  return { kty, crv, x, y };
}

/** How a free text or a staff code stands in signed payloads: SHA-256 of a 16-byte salt and the text. */
export async function seal(crypto: Crypto, salt: Uint8Array<ArrayBuffer>, text: string): Promise<SealedText> {
  const bytes = utf8(text);
  const salted = new Uint8Array(salt.length + bytes.length);
  salted.set(salt);
  salted.set(bytes, salt.length);
  return { sha256: base64url(await crypto.sha256(salted)), salt: base64url(salt), text };
}
