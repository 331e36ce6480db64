/** Which `case_opened` decides plan, protocol and unit values of a case. Called by the fold alone. */
import { canonicalText } from "./canonical.ts";
import { checkPlan, type Plan } from "./caseFile.ts";
import { InvalidInput } from "./errors.ts";
import { isObject, type Json, type JsonObject } from "./json.ts";
import type { TimedEntry } from "./logEvents.ts";
import type { Protocol } from "./protocol.ts";
import { readUnitValues } from "./unitValues.ts";

/** A `case_opened` that can be judged. */
export interface Opening {
  readonly protocol: string;
  readonly plan: Plan & JsonObject;
  readonly values: JsonObject;
  readonly unit_values_number: number | null;
  readonly list: string | null;
  readonly date: string | null;
  readonly reference: string | null;
  readonly unit: string | null;
  readonly time_zone: string | null;
  readonly practice: boolean;
  readonly on_list: boolean;
}

export interface Openings {
  readonly first: Opening | null;
  readonly count: number;
  readonly unreadable: number;
  /** True when another one names another plan, protocol or unit object. */
  readonly differs: boolean;
}

/**
 * The first readable one decides. The case's own come before those that were moved here from another case: a case
 * opened on the wrong slot carries the wrong slot's plan.
 */
export function decidingOpening(own: readonly TimedEntry[], caseId: string, protocol: Protocol): Openings {
  const given = own.filter(({ event }) => event.type === "case_opened");
  const readable = given.filter(({ event }) => isReadable(event, protocol)).map(({ event }) => event);
  const native = readable.filter((event) => event["case"] === caseId);
  const [first, ...others] = native.length > 0 ? native : readable;
  return {
    first: first === undefined ? null : openingOf(first, protocol),
    count: given.length,
    unreadable: given.length - readable.length,
    differs: first !== undefined && others.some((other) => deciding(other) !== deciding(first)),
  };
}

function isReadable(event: JsonObject, protocol: Protocol): boolean {
  const values = event["unit_values"];
  if (event["protocol"] !== protocol.protocol || !isObject(values)) return false;
  try {
    const unit = values["values"];
    if (unit === undefined) return false;
    checkPlan(event["plan"], readUnitValues(unit, protocol), protocol);
    return true;
  } catch (refusal) {
    if (refusal instanceof InvalidInput) return false;
    throw refusal;
  }
}

function deciding(event: JsonObject): string {
  return canonicalText([event["plan"], event["protocol"], event["unit_values"]]);
}

function openingOf(event: JsonObject, protocol: Protocol): Opening {
  const { number, values } = event["unit_values"] as JsonObject;
  return {
    protocol: protocol.protocol,
    plan: event["plan"] as unknown as Plan & JsonObject,
    values: values as JsonObject,
    unit_values_number: typeof number === "number" ? number : null,
    list: textOrNull(event["list"]),
    date: textOrNull(event["date"]),
    reference: textOrNull(event["reference"]),
    unit: textOrNull(event["unit"]),
    time_zone: textOrNull(event["time_zone"]),
    practice: event["practice"] === true,
    on_list: event["slot"] !== undefined && event["slot"] !== null,
  };
}

function textOrNull(value: Json | undefined): string | null {
  return typeof value === "string" ? value : null;
}
