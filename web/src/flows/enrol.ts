/** Enrols this tablet with a one-time code: a new key, the server's certificate for it, and the server's key pinned. */
import { REQUEST, jwkOf, readEntry, verifyCertificate } from "../core/entry.ts";
import { NotAllowed, TamperedRecord } from "../core/errors.ts";
import type { JsonObject } from "../core/json.ts";
import { signJws, thumbprint } from "../core/jws.ts";
import { needText } from "../core/values.ts";
import { hasCrypto, makeDeviceKeys, publicJwk, signerOf } from "../device/crypto.ts";
import type { Enrolment } from "../device/rows.ts";
import type { Tablet } from "../device/tablet.ts";
import type { Session } from "./session.ts";

const PAGE = 500;

/** Raises Unreachable or Refusal, and TamperedRecord for an answer that does not certify our key. */
export async function enrolTablet(tablet: Tablet, code: string, name: string): Promise<Enrolment> {
  if (!hasCrypto()) {
    throw new NotAllowed(
      "This page was not opened over https, so that this browser keeps no keys for it. Open it over https.",
    );
  }
  const keys = await makeDeviceKeys();
  const jwk = await publicJwk(keys.publicKey);
  const device = await thumbprint(tablet.crypto, jwk);
  const sign = signerOf(keys.privateKey);
  const proof = await signJws(sign, REQUEST, { v: 1, purpose: "enrol", code, device });
  const answer = await tablet.server.post("/enrolments", {
    code,
    name,
    jwk: jwk as unknown as JsonObject,
    proof,
  });
  const serverJwk = jwkOf(answer["server_jwk"]);
  const text = needText(answer["certificate"], "certificate");
  const certified = await verifyCertificate(tablet.crypto, text, serverJwk);
  if (certified.device !== device) throw new TamperedRecord("The certificate is for another tablet.");
  const { unit, certificate } = certified;
  const enrolment = { unit, device, certificate, name: certified.name, serverJwk, keys };
  await tablet.keys.saveEnrolment(enrolment);
  // If we stop here, the next start carries over what the enrolment before left unsent.
  tablet.highWater.replace({ device, stored: 0 });
  return enrolment;
}

/**
 * Carries events that the server never vouched for under an earlier key of this tablet over into today's log, once
 * each. They keep their ids and times; the old log stays as it is.
 */
export async function carryOver(session: Session): Promise<void> {
  const { tablet, enrolment } = session;
  for (const { device } of await tablet.keys.enrolments()) {
    if (device === enrolment.device) continue;
    const receipt = await tablet.work.receipt(device);
    const first = await tablet.entries.read(device, receipt?.n ?? 0, 1);
    if (first.length > 0)
      await carryFrom(session, device, receipt?.n ?? 0, await idsOf(tablet, enrolment.device));
  }
}

async function carryFrom(
  session: Session,
  device: string,
  from: number,
  carried: ReadonlySet<string>,
): Promise<void> {
  for (let at = from; ; at += PAGE) {
    const page = await session.tablet.entries.read(device, at, PAGE);
    for (const { jws, digest, texts } of page) {
      const { event } = readEntry(jws, digest);
      if (!carried.has(event.id)) await session.append(event, texts);
      // If we stop here, the next start goes on with the event behind this one.
    }
    if (page.length < PAGE) return;
  }
}

async function idsOf(tablet: Tablet, device: string): Promise<ReadonlySet<string>> {
  const ids = new Set<string>();
  for (let at = 0; ; at += PAGE) {
    const page = await tablet.entries.read(device, at, PAGE);
    for (const { jws, digest } of page) ids.add(readEntry(jws, digest).event.id);
    if (page.length < PAGE) return ids;
  }
}
