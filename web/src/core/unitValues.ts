/** The unit's own values (contract section 4): the protocol's defaults with a case's `unit` object laid over them. */
import { InvalidInput } from "./errors.ts";
import type { Json, JsonObject } from "./json.ts";
import type { Protocol } from "./protocol.ts";
import { limitNames, rangeNames } from "./unitNames.ts";
import { describe, needObject, needText, needWhole } from "./values.ts";

/** Both ends are inside. `card` is the value of the unit's card where the range is one. */
export type Range =
  | { readonly low: number; readonly high: number }
  | { readonly card: number; readonly percent: number };

/** `dose_ug` is the planned dose, null where the unit's list does not say it. */
export interface Drug {
  readonly dose_ug: number | null;
  readonly barredBy: ReadonlySet<string>;
}

/** `dyes` maps a dye to its largest dose in ug, null where it is not said. */
export interface UnitValues {
  readonly drugs: ReadonlyMap<string, Drug>;
  readonly dyes: ReadonlyMap<string, number | null>;
  readonly dye: string;
  readonly modes: ReadonlyMap<string, readonly (readonly [string, Range])[]>;
  readonly ranges: ReadonlyMap<string, Range>;
  readonly limits: ReadonlyMap<string, number>;
}

const QUANTITIES = ["vacuum_mmhg", "flow_ul_min"] as const;

/** True where `value` lies in the range; a card is held within its percentage, ends included, exact. */
export function holds(range: Range, value: number): boolean {
  if ("low" in range) return range.low <= value && value <= range.high;
  const [card, percent, hundredfold] = [BigInt(range.card), BigInt(range.percent), 100n * BigInt(value)];
  return card * (100n - percent) <= hundredfold && hundredfold <= card * (100n + percent);
}

const byProtocol = new WeakMap<Protocol, UnitValues>();

/** The protocol's own values, for a case without a `unit` object. */
export function unitDefaults(protocol: Protocol): UnitValues {
  const known = byProtocol.get(protocol) ?? readUnitValues({}, protocol);
  byProtocol.set(protocol, known);
  return known;
}

/** Lays `value` over the protocol's own values. Raises InvalidInput under `unit.`; unknown names are ignored. */
export function readUnitValues(value: Json, protocol: Protocol): UnitValues {
  const unit = needObject(value, "unit");
  const own = (name: string): Json | undefined =>
    (Object.hasOwn(unit, name) ? unit : protocol.unit_values)[name];
  const drugs = readDrugs(own("drugs"), protocol);
  const dyes = readDyes(own("dyes"));
  const dye = needText(own("dye"), "unit.dye");
  const modes = readModes(Object.hasOwn(unit, "modes") ? unit["modes"] : {}, protocol);
  const ranges = new Map(rangeNames(protocol).map((name) => [name, readRange(own(name), `unit.${name}`)]));
  const limits = new Map(limitNames(protocol).map((name) => [name, needWhole(own(name), `unit.${name}`)]));
  return { drugs, dyes, dye, modes, ranges, limits };
}

function readDrugs(value: Json | undefined, protocol: Protocol): Map<string, Drug> {
  const drugs = new Map<string, Drug>();
  for (const [name, entry] of Object.entries(needObject(value, "unit.drugs"))) {
    const where = `unit.drugs.${name}`;
    const drug = needObject(entry, where);
    const dose_ug = Object.hasOwn(drug, "dose_ug") ? needWhole(drug["dose_ug"], `${where}.dose_ug`) : null;
    const barredBy = Object.hasOwn(drug, "barred_by") ? drug["barred_by"] : [];
    if (!isListOf(barredBy, protocol.allergies)) {
      throw new InvalidInput(
        `${where}.barred_by`,
        describe(barredBy),
        `a list of ${protocol.allergies.join(", ")}`,
      );
    }
    drugs.set(name, { dose_ug, barredBy: new Set(barredBy) });
  }
  return drugs;
}

function isListOf(value: Json | undefined, words: readonly string[]): value is string[] {
  return Array.isArray(value) && value.every((word) => typeof word === "string" && words.includes(word));
}

function readDyes(value: Json | undefined): Map<string, number | null> {
  const dyes = new Map<string, number | null>();
  for (const [name, entry] of Object.entries(needObject(value, "unit.dyes"))) {
    const dye = needObject(entry, `unit.dyes.${name}`);
    dyes.set(
      name,
      Object.hasOwn(dye, "max_ug") ? needWhole(dye["max_ug"], `unit.dyes.${name}.max_ug`) : null,
    );
  }
  return dyes;
}

function readModes(
  value: Json | undefined,
  protocol: Protocol,
): Map<string, readonly (readonly [string, Range])[]> {
  const given = needObject(value, "unit.modes");
  for (const name of Object.keys(given)) {
    if (!protocol.modes.includes(name)) {
      throw new InvalidInput("unit.modes", describe(name), `one of ${protocol.modes.join(", ")}`);
    }
  }
  return new Map(protocol.modes.map((mode) => [mode, readMode(given, mode, protocol)]));
}

function readMode(
  modes: JsonObject,
  mode: string,
  protocol: Protocol,
): readonly (readonly [string, Range])[] {
  const given = needObject(Object.hasOwn(modes, mode) ? modes[mode] : {}, `unit.modes.${mode}`);
  const defaults = (protocol.unit_values["modes"] as JsonObject)[mode] as JsonObject;
  return QUANTITIES.map((quantity) => {
    const found = Object.hasOwn(given, quantity) ? given[quantity] : defaults[quantity];
    if (typeof found === "number")
      return [quantity, { card: found, percent: protocol.fixed.card_tolerance_percent }];
    return [quantity, readRange(found, `unit.modes.${mode}.${quantity}`, "[low, high] or a card value")];
  });
}

function readRange(value: Json | undefined, where: string, expected = "[low, high] in whole numbers"): Range {
  const [low, high, ...more]: readonly (Json | undefined)[] = Array.isArray(value) ? value : [];
  if (typeof low !== "number" || typeof high !== "number" || more.length > 0) {
    throw new InvalidInput(where, describe(value), expected);
  }
  return { low, high };
}
