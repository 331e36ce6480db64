/**
 * Case files: validation, de-duplication and corrections; parsed JSON in, effective records out.
 *
 * Contract section 2. A file is refused only where that section says so, and the place is named; unknown fields,
 * steps and event types are kept by whoever holds the file, not judged, and counted as unread.
 */
import { canonicalText } from "./canonical.ts";
import { InvalidInput } from "./errors.ts";
import { checkEvent, checkCorrection } from "./caseEvent.ts";
import { asText, type Json, type JsonObject } from "./json.ts";
import { stepsOf, type Protocol, type Step } from "./protocol.ts";
import { readUnitValues, unitDefaults, type UnitValues } from "./unitValues.ts";
import { describe, needBoolean, needChoice, needObject, needText, needWhole } from "./values.ts";

export type Eye = "right" | "left";

export interface Lens {
  readonly model: string;
  readonly power_cdpt: number;
}

export interface PlannedLens extends Lens {
  readonly optic_um: number;
  readonly dry_state_hydrophilic: boolean;
}

export interface Plan {
  readonly eye: Eye;
  readonly anaesthesia: "topical" | "block" | "general";
  readonly red_reflex: "good" | "poor";
  readonly lens: PlannedLens;
  readonly drug: string;
}

/** An event of a case file whose envelope has been checked. */
export interface CaseEvent extends JsonObject {
  readonly id: string;
  readonly type: string;
  readonly at_ms: number;
  readonly entered_ms: number;
}

/** One effective step event: `value` holds the known fields as they were entered or last corrected. */
export class Record {
  constructor(
    readonly id: string,
    readonly step: Step,
    readonly at_ms: number,
    readonly entered_ms: number,
    readonly value: JsonObject,
  ) {}

  has(field: string): boolean {
    return Object.hasOwn(this.value, field);
  }

  /** The field, or its default where it was not entered; undefined where there is neither. */
  get(field: string): Json | undefined {
    return this.has(field) ? this.value[field] : defaultOf(this.step, field);
  }

  get inEye(): boolean {
    return this.get("in_eye") !== false;
  }

  get isInjection(): boolean {
    return this.step.asks_hub === true && this.has("hub_held") && this.inEye;
  }
}

/** A case as it is judged: records in order of at_ms, then id; `others` are the non-step events, voids gone. */
export interface CaseFile {
  readonly case: string | null;
  readonly plan: Plan;
  readonly unit: UnitValues;
  readonly records: readonly Record[];
  readonly others: readonly CaseEvent[];
  readonly unread: number;
}

/** Reads the parsed JSON of one case file. Raises InvalidInput at the first place that is refused. */
export function read(document: Json, protocol: Protocol): CaseFile {
  const file = needObject(document, "case file");
  if (Object.hasOwn(file, "protocol") && file["protocol"] !== protocol.protocol) {
    throw new InvalidInput("protocol", describe(file["protocol"]), JSON.stringify(protocol.protocol));
  }
  const name = Object.hasOwn(file, "case") ? needText(file["case"], "case") : null;
  const given = Object.hasOwn(file, "unit") ? file["unit"] : undefined;
  const unit = given === undefined ? unitDefaults(protocol) : readUnitValues(given, protocol);
  const plan = checkPlan(file["plan"], unit, protocol);
  const events = distinct(file["events"], protocol);
  return effective(name, plan, unit, events, decidingCorrections(events, protocol), protocol);
}

/** Returns the plan of a case. Raises InvalidInput under `plan` where a field is missing or wrong. */
export function checkPlan(value: Json | undefined, unit: UnitValues, protocol: Protocol): Plan {
  const plan = needObject(value, "plan");
  for (const [name, choices] of Object.entries(protocol.plan))
    needChoice(plan[name], `plan.${name}`, choices);
  const lens = needObject(plan["lens"], "plan.lens");
  needText(lens["model"], "plan.lens.model");
  needWhole(lens["power_cdpt"], "plan.lens.power_cdpt");
  needWhole(lens["optic_um"], "plan.lens.optic_um");
  needBoolean(lens["dry_state_hydrophilic"], "plan.lens.dry_state_hydrophilic");
  const drug = needText(plan["drug"], "plan.drug");
  if (!unit.drugs.has(drug)) throw new InvalidInput("plan.drug", describe(drug), "a drug of the unit's list");
  return plan as unknown as Plan;
}

interface Placed {
  readonly at: number;
  readonly event: CaseEvent;
}

/** Every event once, each with its place in the file. Two contents under one id are refused. */
function distinct(value: Json | undefined, protocol: Protocol): readonly Placed[] {
  if (!Array.isArray(value)) throw new InvalidInput("events", describe(value), "a list");
  const seen = new Map<string, CaseEvent>();
  const events: Placed[] = [];
  value.forEach((found: Json, at) => {
    const where = `events[${at}]`;
    const event = checkEvent(found, where, protocol);
    const first = seen.get(event.id);
    if (first === undefined) {
      seen.set(event.id, event);
      events.push({ at, event });
    } else if (canonicalText(first) !== canonicalText(event)) {
      const other = `another event with the id ${describe(event.id)}`;
      throw new InvalidInput(`${where}.id`, other, "one content under one id");
    }
  });
  return events;
}

/** For each corrected id the one correction that decides: the last by entered_ms, then id. */
function decidingCorrections(events: readonly Placed[], protocol: Protocol): ReadonlyMap<string, CaseEvent> {
  const targets = new Map(events.map(({ event }) => [event.id, event]));
  const deciding = new Map<string, CaseEvent>();
  for (const { at, event } of events) {
    if (event.type !== "correct") continue;
    const corrects = asText(event["corrects"]);
    checkCorrection(event, targets.get(corrects), `events[${at}]`, protocol);
    const last = deciding.get(corrects);
    if (last === undefined || isLater(event, last)) deciding.set(corrects, event);
  }
  return deciding;
}

function isLater(event: CaseEvent, other: CaseEvent): boolean {
  return event.entered_ms === other.entered_ms ? event.id > other.id : event.entered_ms > other.entered_ms;
}

/** Applies the corrections; what this version cannot read and nobody voided is counted as unread. */
function effective(
  name: string | null,
  plan: Plan,
  unit: UnitValues,
  events: readonly Placed[],
  corrections: ReadonlyMap<string, CaseEvent>,
  protocol: Protocol,
): CaseFile {
  const records: Record[] = [];
  const others: CaseEvent[] = [];
  let unread = 0;
  for (const { event } of events) {
    const correction = corrections.get(event.id);
    if (event.type === "correct" || (correction && Object.hasOwn(correction, "void"))) continue;
    const isOfStep = event.type === "step" || event.type === "not_done";
    const step = isOfStep ? stepsOf(protocol).get(asText(event["step"])) : undefined;
    if (!KNOWN_TYPES.has(event.type) || (isOfStep && step === undefined)) unread += 1;
    else if (step !== undefined && event.type === "step") {
      const value = ((correction ?? event)["value"] ?? {}) as JsonObject;
      records.push(new Record(event.id, step, event.at_ms, event.entered_ms, knownFields(step, value)));
    } else others.push(event);
  }
  return {
    case: name,
    plan,
    unit,
    records: records.toSorted(byTime),
    others: others.toSorted(byTime),
    unread,
  };
}

const KNOWN_TYPES: ReadonlySet<string> = new Set([
  "step",
  "not_done",
  "correct",
  "room",
  "fault",
  "breach",
  "complication",
  "answer",
]);

function knownFields(step: Step, value: JsonObject): JsonObject {
  const known: { [name: string]: Json } = {};
  for (const { name } of step.fields) {
    const found = Object.hasOwn(value, name) ? value[name] : undefined;
    if (found !== undefined) known[name] = found;
  }
  return known;
}

interface Timed {
  readonly id: string;
  readonly at_ms: number;
}

/** In order of at_ms, then id. */
export function byTime(a: Timed, b: Timed): number {
  if (a.at_ms !== b.at_ms) return a.at_ms < b.at_ms ? -1 : 1;
  return a.id < b.id ? -1 : Number(a.id > b.id);
}

/** A missing boolean counts as false; without hub_held a record is no injection (contract section 3). */
function defaultOf(step: Step, name: string): Json | undefined {
  const field = step.fields.find((known) => known.name === name);
  if (field === undefined) return undefined;
  return field.default ?? (field.type === "boolean" && name !== "hub_held" ? false : undefined);
}
