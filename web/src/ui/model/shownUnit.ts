/** The unit's own values and offers as the screens need them; the judge reads its own from the case file. */
import type { Protocol } from "../../core/protocol.ts";

export interface ShownUnit {
  readonly drugs: Readonly<Record<string, { readonly dose_ug?: number; readonly barred_by?: readonly string[] }>>;
  readonly dyes: Readonly<Record<string, { readonly max_ug?: number }>>;
  readonly dye: string;
  readonly modes: Readonly<Record<string, ModeRanges>>;
  readonly overlap_um: number;
}

/** `[low, high]`, or one number: the value of the unit's card, held within a tolerance by the judge. */
export type ModeRanges = Readonly<Record<string, readonly number[] | number>>;

/** The second numbered object of a unit: what is offered. It never enters the judge. */
export interface ShownSettings {
  readonly tray: Readonly<Record<string, number>>;
  readonly lens_models: readonly string[];
  readonly antibiotics: readonly { readonly drug: string; readonly strength_ug_ml: number; readonly volume_ul: number }[];
  readonly offers: Readonly<Record<string, readonly Readonly<Record<string, unknown>>[]>>;
}

/** The protocol's values with the case's `unit` object laid over them, as contract section 4 says. */
export function shownUnit(protocol: Protocol, unit: unknown): ShownUnit {
  const base = protocol.unit_values as unknown as ShownUnit;
  const own = (typeof unit === "object" && unit !== null ? unit : {}) as Partial<ShownUnit>;
  const modes = Object.fromEntries(
    Object.entries(base.modes).map(([mode, ranges]) => [mode, { ...ranges, ...own.modes?.[mode] }]),
  );
  return { ...base, ...own, modes };
}

/** True when a recorded allergy bars the drug. */
export function isBarred(unit: ShownUnit, drug: string, allergies: ReadonlySet<string>): boolean {
  return (unit.drugs[drug]?.barred_by ?? []).some((allergy) => allergies.has(allergy));
}
