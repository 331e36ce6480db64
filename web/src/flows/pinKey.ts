/** Makes a surgeon's signing key on this tablet, while online: certified by the server, opened by the PIN alone. */
import { REQUEST, verifyPinKey, type SealedText } from "../core/entry.ts";
import { NotAllowed } from "../core/errors.ts";
import type { Json, JsonObject } from "../core/json.ts";
import { signJws, thumbprint } from "../core/jws.ts";
import { needObject, needText } from "../core/values.ts";
import { makePinKey as makeKey, signerOf } from "../device/crypto.ts";
import { pinKeys } from "../state/index.ts";
import { session, type Session } from "./session.ts";

const PIN = /^[0-9]{6,}$/;

/** Raises NotAllowed for a PIN of another form, Unreachable or Refusal where the server does not certify it. */
export async function makePinKey(code: string, pin: string): Promise<void> {
  if (!PIN.test(pin)) throw new NotAllowed("A PIN has six digits or more.");
  const { tablet, enrolment } = session();
  const made = await makeKey(pin);
  const key = await thumbprint(tablet.crypto, made.jwk);
  const said = { v: 1, purpose: "pin-key", person: code, pin, key, wall_ms: tablet.clock.read().wall_ms };
  const request = await signJws(signerOf(enrolment.keys.privateKey), REQUEST, said);
  const jwk = made.jwk as unknown as JsonObject;
  const answer = await tablet.server.post("/pin-keys", { certificate: enrolment.certificate, request, jwk });
  const certificate = needText(answer["certificate"], "certificate");
  await verifyPinKey(tablet.crypto, certificate, enrolment.serverJwk, enrolment, made.jwk);
  const person = sealedText(answer["person"]);
  await tablet.keys.savePinKey({ code, device: enrolment.device, ...made, certificate, person });
  await showPinKeys(session());
}

function sealedText(value: Json | undefined): SealedText {
  const person = needObject(value, "person");
  const [sha256 = "", salt = "", text = ""] = ["sha256", "salt", "text"].map((name) =>
    needText(person[name], name),
  );
  return { sha256, salt, text };
}

/** Keys of this enrolment: one that was certified for an earlier key of this tablet proves nothing any more. */
export async function showPinKeys({ tablet, enrolment }: Session): Promise<void> {
  const keys = await tablet.keys.pinKeys();
  pinKeys.value = keys.filter(({ device }) => device === enrolment.device).map(({ code }) => code);
}
