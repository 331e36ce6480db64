/**
 * The protocol file as values: steps, fields, order pairs, unit values and grades.
 *
 * `load` takes the parsed JSON of shared/protocol/*.json and refuses a file that it does not wholly understand.
 * Steps, bounds, order pairs, grades and thresholds are data; what a rule does is code (core/judge).
 */
import type { Expression } from "./condition.ts";
import type { Json, JsonObject } from "./json.ts";
import { protocolDocument } from "./protocolDocument.ts";
import { checkNames } from "./protocolNames.ts";
import type { GRADES } from "./protocolShape.ts";

export type Grade = (typeof GRADES)[number];
export type Role = "scrub" | "circulating" | "surgeon" | "anaesthetist";
type Range = readonly [number, number];

export interface Refuse {
  readonly below?: number;
  readonly above?: number;
  readonly multiple_of?: number;
}

/** One value of a step; `choices` belongs to one_of and some_of. `refuse` is for entry alone. */
export interface Field {
  readonly name: string;
  readonly type: "boolean" | "whole" | "text" | "one_of" | "some_of" | "counts" | "dilutions" | "day";
  readonly required: boolean;
  readonly choices?: readonly string[];
  readonly default?: boolean | number | string;
  readonly refuse?: Refuse;
}

export type ToleranceRule =
  | {
      readonly rule: "longest_at_least";
      readonly field: string;
      readonly limit: string;
      readonly grade: Grade;
    }
  | {
      readonly rule: "any_outside" | "last_outside";
      readonly field: string;
      readonly range: string;
      readonly grade: Grade;
    }
  | {
      readonly rule: "last_overlap";
      readonly diameter: string;
      readonly decentration: string;
      readonly limit: string;
      readonly grade: Grade;
    }
  | { readonly rule: "last_is"; readonly field: string; readonly choice: string; readonly grade: Grade }
  | {
      readonly rule: "last_measured_outside";
      readonly field: string;
      readonly instrument: string;
      readonly range: string;
      readonly grade: Grade;
    }
  | { readonly rule: "settings"; readonly grade: Grade };

export type ReadbackRule =
  | { readonly rule: "true" | "unit_dye"; readonly field: string }
  | { readonly rule: "eye"; readonly against: "plan" | "marked-eye" }
  | { readonly rule: "lens"; readonly against: readonly string[]; readonly expiry?: string }
  | { readonly rule: "label"; readonly field: string; readonly label: string };

export type Place = "never_in_eye" | "in_eye";
export type ContraindicatedRule =
  | { readonly rule: "antiseptic"; readonly field: string }
  | {
      readonly rule: "drug" | "dye";
      readonly field: string;
      readonly place: Place;
      readonly accepted_at?: string;
    };
export type SubstitutionRule =
  | { readonly rule: "antiseptic" | "drug" | "dye"; readonly field: string }
  | { readonly rule: "lens"; readonly site: string };
export type ComplicationRule =
  | { readonly rule: "any_is"; readonly field: string; readonly choice: string; readonly grade: Grade }
  | { readonly rule: "last_false"; readonly field: string; readonly grade: Grade };

export interface OmittedRule {
  readonly no_record: Grade;
  readonly must_be_true?: readonly string[];
  readonly false?: Grade;
  readonly met_also_by?: { readonly step: string; readonly field: string };
}

export interface CountRule {
  readonly opening: string;
  readonly items: string;
  readonly added: string;
  readonly out: string;
  readonly retained: string;
}

/** One slab of a step; `then_ask` names the field that is asked next. */
export interface OfferedAnswer {
  readonly label: string;
  readonly value: JsonObject;
  readonly then_ask?: string;
}

export interface Step {
  readonly step: string;
  readonly code: string;
  readonly phase: string;
  readonly key_word: string;
  readonly prompt: string;
  readonly confirms: readonly Role[];
  readonly kind: "confirm" | "readback" | "measure" | "settings" | "dose" | "count" | "branch";
  readonly due: Expression;
  readonly fields: readonly Field[];
  readonly per_list?: boolean;
  readonly timely?: boolean;
  readonly blind?: boolean;
  readonly carried_from?: string;
  readonly in_eye_only?: boolean;
  readonly asks_hub?: boolean;
  readonly sutures_field?: string;
  readonly reasons?: readonly string[];
  readonly omitted?: OmittedRule;
  readonly tolerance?: readonly ToleranceRule[];
  readonly settings?: { readonly allowed: readonly string[] };
  readonly readback?: ReadbackRule;
  readonly dose?: { readonly of: "drug" | "dye"; readonly place: Place; readonly chain?: boolean };
  readonly contraindicated?: ContraindicatedRule;
  readonly substitution?: SubstitutionRule;
  readonly complication?: ComplicationRule;
  readonly count?: CountRule;
  readonly answers?: readonly OfferedAnswer[];
  readonly why: string;
  readonly source: string;
}

/** `before` wants to stand before `after`. */
export interface Pair {
  readonly before: string;
  readonly after: string;
  readonly grade: Grade;
  readonly only_after_tear?: boolean;
}

type Graded<Name extends string> = Readonly<Record<Name, Grade>>;

export interface Grades {
  readonly dose: Graded<"outside" | "g3" | "g4">;
  readonly contraindicated: Graded<"not_in_eye" | "in_eye" | "not_accepted">;
  readonly readback_mismatch: Graded<"corrected" | "kept">;
  readonly wrong_setting: Graded<"noticed_and_corrected" | "other">;
  readonly hub_not_held: Graded<"not_held" | "detached" | "injury">;
  readonly substitution: Graded<
    | "drug_by_allergy"
    | "drug_listed"
    | "drug_not_listed"
    | "dye_listed"
    | "dye_not_listed"
    | "antiseptic_by_allergy"
    | "antiseptic_other"
    | "lens_from_new_plan"
    | "lens_from_plan_by_new_plan"
    | "lens_from_both_plans"
    | "lens_from_one_plan"
  >;
  readonly count: Graded<"retained" | "corrected" | "kept">;
  readonly equipment: Graded<"before" | "during">;
  readonly contamination: Graded<"kept_out" | "reached_eye">;
  readonly complication: Readonly<Record<string, Grade>> & { readonly other: Grade };
  readonly time_overrun: Grade;
  readonly late_entry: Grade;
}

export interface Fixed {
  readonly suture_wound_um: number;
  readonly burst_records: number;
  readonly burst_span_ms: number;
  readonly card_tolerance_percent: number;
  readonly dose_ratio_low: Range;
  readonly dose_ratio_high: Range;
  readonly dose_ratio_g3_over: Range;
  readonly dose_ratio_g4_from: Range;
  readonly dyes_barred_by_dry_state_hydrophilic: readonly string[];
  readonly accept_aloud: { readonly drug: string; readonly allergy: string };
  readonly usual_antiseptic: string;
  readonly antiseptic_barred_by: string;
}

/** The whole protocol file, checked; its members are the file's own. */
export interface Protocol {
  readonly protocol: string;
  readonly title: string;
  readonly caution: string;
  readonly phases: readonly { readonly phase: string; readonly title: string }[];
  readonly roles: readonly Role[];
  readonly plan: Readonly<Record<string, readonly string[]>>;
  readonly allergies: readonly string[];
  readonly modes: readonly string[];
  readonly unit_values: JsonObject;
  readonly fixed: Fixed;
  readonly steps: readonly Step[];
  readonly tear: { readonly step: string; readonly field: string; readonly choice: string };
  readonly order: readonly Pair[];
  readonly after_last: { readonly step: string; readonly records: readonly string[]; readonly grade: Grade };
  readonly before_patient_out: { readonly steps: readonly string[]; readonly grade: Grade };
  readonly grades: Grades;
  readonly time_overrun: { readonly from: string; readonly to: readonly string[] };
  readonly grade_words: Readonly<Record<Grade, string>>;
  readonly not_done_reasons: readonly string[];
  readonly stops: readonly string[];
  readonly sources: Readonly<Record<string, string>>;
}

/** Checks and reads a protocol document. Raises InvalidInput that names the place. */
export function load(document: Json): Protocol {
  protocolDocument(document, "protocol file");
  const protocol = document as unknown as Protocol;
  checkNames(protocol);
  return protocol;
}

const byProtocol = new WeakMap<Protocol, ReadonlyMap<string, Step>>();

/** The steps of a protocol by their code. */
export function stepsOf(protocol: Protocol): ReadonlyMap<string, Step> {
  let steps = byProtocol.get(protocol);
  if (steps === undefined) {
    steps = new Map(protocol.steps.map((step) => [step.step, step]));
    byProtocol.set(protocol, steps);
  }
  return steps;
}
