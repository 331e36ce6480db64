/** Whether a drug of the unit's list is barred by an allergy of this case. */
import type { UnitValues } from "../../core/unitValues.ts";

export function isBarred(unit: UnitValues, drug: string, allergies: ReadonlySet<string>): boolean {
  return [...(unit.drugs.get(drug)?.barredBy ?? [])].some((allergy) => allergies.has(allergy));
}
