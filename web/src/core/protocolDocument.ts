/** What stands in a protocol file, as shapes: the loader refuses every member that is not listed here. */
import {
  GRADES,
  anything,
  boolean,
  byRule,
  either,
  exact,
  grade,
  list,
  map,
  oneOf,
  optional,
  text,
  texts,
  whole,
  type Members,
  type Shape,
} from "./protocolShape.ts";

const field = exact({
  name: text,
  type: oneOf("boolean", "whole", "text", "one_of", "some_of", "counts", "dilutions", "day"),
  required: boolean,
  choices: optional(texts),
  default: optional(either(boolean, whole, text)),
  refuse: optional(exact({ below: optional(whole), above: optional(whole), multiple_of: optional(whole) })),
});

const tolerance = byRule({
  longest_at_least: { field: text, limit: text, grade },
  any_outside: { field: text, range: text, grade },
  last_outside: { field: text, range: text, grade },
  last_overlap: { diameter: text, decentration: text, limit: text, grade },
  last_is: { field: text, choice: text, grade },
  last_measured_outside: { field: text, instrument: text, range: text, grade },
  settings: { grade },
});

const readback = byRule({
  true: { field: text },
  eye: { against: oneOf("plan", "marked-eye") },
  lens: { against: texts, expiry: optional(text) },
  unit_dye: { field: text },
  label: { field: text, label: text },
});

const place = oneOf("never_in_eye", "in_eye");
const contraindicated = byRule({
  antiseptic: { field: text },
  drug: { field: text, place, accepted_at: optional(text) },
  dye: { field: text, place },
});
const substitution = byRule({
  antiseptic: { field: text },
  drug: { field: text },
  dye: { field: text },
  lens: { site: text },
});
const complication = byRule({
  any_is: { field: text, choice: text, grade },
  last_false: { field: text, grade },
});
const omitted = exact({
  no_record: grade,
  must_be_true: optional(texts),
  false: optional(grade),
  met_also_by: optional(exact({ step: text, field: text })),
});

const step = exact({
  step: text,
  code: text,
  phase: text,
  key_word: text,
  prompt: text,
  confirms: texts,
  kind: oneOf("confirm", "readback", "measure", "settings", "dose", "count", "branch"),
  due: list(anything),
  fields: list(field),
  per_list: optional(boolean),
  timely: optional(boolean),
  blind: optional(boolean),
  carried_from: optional(text),
  in_eye_only: optional(boolean),
  asks_hub: optional(boolean),
  sutures_field: optional(text),
  reasons: optional(texts),
  omitted: optional(omitted),
  tolerance: optional(list(tolerance)),
  settings: optional(exact({ allowed: texts })),
  readback: optional(readback),
  dose: optional(exact({ of: oneOf("drug", "dye"), place, chain: optional(boolean) })),
  contraindicated: optional(contraindicated),
  substitution: optional(substitution),
  complication: optional(complication),
  count: optional(exact({ opening: text, items: text, added: text, out: text, retained: text })),
  answers: optional(list(exact({ label: text, value: map(anything), then_ask: optional(text) }))),
  why: text,
  source: text,
});

const range = list(whole, 2);
/** Beside those that the judge names, values of a unit's own: a range or a limit that a rule of tolerance names. */
const unitValues = exact(
  {
    drugs: map(exact({ dose_ug: whole, barred_by: texts })),
    dyes: map(exact({ max_ug: whole })),
    dye: text,
    modes: map(exact({ vacuum_mmhg: range, flow_ul_min: range })),
    main_wound_um: range,
    rhexis_um: range,
    overlap_um: whole,
    pressure_mmhg: range,
    time_limit_s: whole,
    late_s: whole,
    antiseptic_s: whole,
  },
  either(range, whole),
);
const fixed = exact({
  suture_wound_um: whole,
  burst_records: whole,
  burst_span_ms: whole,
  card_tolerance_percent: whole,
  dose_ratio_low: range,
  dose_ratio_high: range,
  dose_ratio_g3_over: range,
  dose_ratio_g4_from: range,
  dyes_barred_by_dry_state_hydrophilic: texts,
  accept_aloud: exact({ drug: text, allergy: text }),
  usual_antiseptic: text,
  antiseptic_barred_by: text,
});

const GRADED: Readonly<Record<string, readonly string[]>> = {
  dose: ["outside", "g3", "g4"],
  contraindicated: ["not_in_eye", "in_eye", "not_accepted"],
  readback_mismatch: ["corrected", "kept"],
  wrong_setting: ["noticed_and_corrected", "other"],
  hub_not_held: ["not_held", "detached", "injury"],
  substitution: [
    "drug_by_allergy",
    "drug_listed",
    "drug_not_listed",
    "dye_listed",
    "dye_not_listed",
    "antiseptic_by_allergy",
    "antiseptic_other",
    "lens_from_new_plan",
    "lens_from_plan_by_new_plan",
    "lens_from_both_plans",
    "lens_from_one_plan",
  ],
  count: ["retained", "corrected", "kept"],
  equipment: ["before", "during"],
  contamination: ["kept_out", "reached_eye"],
};
const grades = exact({
  ...Object.fromEntries(Object.entries(GRADED).map(([kind, names]) => [kind, each(names, grade)])),
  complication: map(grade),
  time_overrun: grade,
  late_entry: grade,
});

function each(names: readonly string[], shape: Shape): Shape {
  return exact(Object.fromEntries(names.map((name) => [name, shape])));
}

const members: Members = {
  $schema: text,
  protocol: text,
  title: text,
  caution: text,
  phases: list(exact({ phase: text, title: text })),
  roles: texts,
  plan: map(texts),
  allergies: texts,
  modes: texts,
  unit_values: unitValues,
  fixed,
  steps: list(step),
  tear: exact({ step: text, field: text, choice: text }),
  order: list(exact({ before: text, after: text, grade, only_after_tear: optional(boolean) })),
  after_last: exact({ step: text, records: texts, grade }),
  before_patient_out: exact({ steps: texts, grade }),
  grades,
  time_overrun: exact({ from: text, to: texts }),
  grade_words: each(GRADES, text),
  not_done_reasons: texts,
  stops: texts,
  sources: map(text),
};

export const protocolDocument: Shape = exact(members);
