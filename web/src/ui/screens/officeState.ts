/** Whether the office is open in this browser; asked of the server whenever an office page is shown. */
import { signal } from "@preact/signals";

import { OfficeProblem, officeSession, type OfficeSession } from "../../flows/office.ts";

/** asking: not known yet; closed: the passphrase is needed; unreachable: no network. */
export type OfficeState =
  | { readonly kind: "asking" | "closed" | "unreachable" }
  | { readonly kind: "open"; readonly session: OfficeSession };

export const office = signal<OfficeState>({ kind: "asking" });

export async function askOffice(): Promise<void> {
  try {
    office.value = { kind: "open", session: await officeSession() };
  } catch (error) {
    const isUnreachable = error instanceof OfficeProblem && error.isUnreachable;
    office.value = { kind: isUnreachable ? "unreachable" : "closed" };
  }
}
