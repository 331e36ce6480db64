/** The keys of this tablet and what certifies them. The device's private key can sign and can never be read. */
import type { Database } from "./db.ts";
import type { Enrolment, PinKey } from "./rows.ts";

const CURRENT = "current";

export class Keys {
  constructor(private readonly database: Database) {}

  async enrolment(): Promise<Enrolment | null> {
    return (await this.database.read((db) => db.get("enrolments", CURRENT))) ?? null;
  }

  /** The enrolment before stays under its device's name: its entries remain verifiable. */
  saveEnrolment(enrolment: Enrolment): Promise<void> {
    return this.database.write("enrolments", async ({ store }) => {
      await Promise.all([store.put(enrolment, CURRENT), store.put(enrolment, enrolment.device)]);
    });
  }

  /** Every enrolment that this tablet ever had, by device. */
  async enrolments(): Promise<readonly Enrolment[]> {
    const all = await this.database.read((db) => db.getAll("enrolments"));
    return [...new Map(all.map((enrolment) => [enrolment.device, enrolment])).values()];
  }

  pinKeys(): Promise<readonly PinKey[]> {
    return this.database.read((db) => db.getAll("pin_keys"));
  }

  savePinKey(key: PinKey): Promise<void> {
    return this.database.write("pin_keys", async ({ store }) => {
      await store.put(key);
    });
  }
}
