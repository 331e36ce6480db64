/** The surgeon signs the statement of one case with the key that the PIN opens. Works with the network off. */
import { canonical } from "../core/canonical.ts";
import { base64url } from "../core/encoding.ts";
import { NotAllowed } from "../core/errors.ts";
import { buildStatement } from "../core/statement.ts";
import { openPinKey } from "../device/crypto.ts";
import type { PinKey } from "../device/rows.ts";
import { protocol } from "../state/index.ts";
import { session, type Session, type StoredEvent } from "./session.ts";

/** Raises NotAllowed where this tablet has no key of that code, or the PIN does not open it. */
export async function sign(caseId: string, code: string, pin: string): Promise<StoredEvent> {
  const held = session();
  const pinKey = await keyOf(held, code);
  const signer = await openPinKey(pinKey.key, pin);
  if (signer === null) throw new NotAllowed("The PIN does not fit this code. Nothing was signed.");
  await held.follow(); // what another window entered is part of what is signed
  const statement = buildStatement(held.enrolment.unit, held.book.about(caseId), caseId, protocol.value);
  const signature = base64url(await signer(canonical(statement)));
  const proof = { kind: "pin", certificate: pinKey.certificate, signature };
  const staff = { sha256: pinKey.person.sha256 };
  return held.keep({ type: "sign_off", case: caseId, statement, proof, staff }, {}, [pinKey.person]);
}

async function keyOf({ tablet, enrolment }: Session, code: string): Promise<PinKey> {
  const wanted = code.trim().toUpperCase();
  const keys = await tablet.keys.pinKeys();
  const found = keys.find((key) => key.device === enrolment.device && key.code.toUpperCase() === wanted);
  if (found !== undefined) return found;
  throw new NotAllowed(
    `${code} has no signing key on this tablet. Make one while the server can be reached.`,
  );
}
