/**
 * Names in the protocol file: every step, field, choice, mode and value that a rule names must be there, with the
 * type that the rule needs. A misspelt name would otherwise switch its rule off without a word.
 */
import { check as checkCondition, type ConditionNames } from "./condition.ts";
import { InvalidInput } from "./errors.ts";
import type { Field, Protocol, Step, ToleranceRule } from "./protocol.ts";
import { limitNames, rangeNames } from "./unitNames.ts";

type FieldType = Field["type"];

/** A field that a rule reads: of which step, of which type, and the choice that it looks for. */
interface Use {
  readonly step: string;
  readonly field: string;
  readonly type: FieldType;
  readonly choice?: string;
}

const PLAN = ["eye", "anaesthesia", "red_reflex"] as const;
const PLAN_PATHS = [
  ...PLAN,
  "drug",
  "lens.model",
  "lens.power_cdpt",
  "lens.optic_um",
  "lens.dry_state_hydrophilic",
];
const UNITS = ["_um", "_ul", "_ug_ml", "_ug", "_cdpt", "_mmhg", "_ul_min", "_s"] as const;
const HUB = ["lock_checked", "hub_held", "detached", "injury"] as const;
/** Kinds whose grades stand beside their rules. */
const UNGRADED_KINDS = ["omitted", "out_of_order", "out_of_tolerance"] as const;
const LENS_REFERENCES = ["new-lens-plan", "plan", "lens-plan"] as const;

/** Raises InvalidInput at the first name that the file does not hold. */
export function checkNames(protocol: Protocol): void {
  const steps = new Map(protocol.steps.map((step) => [step.step, step]));
  if (steps.size !== protocol.steps.length)
    throw new InvalidInput("steps", "one step twice", "each step once");
  checkFile(protocol, [...steps.keys()]);
  const names = conditionNames(protocol, steps);
  protocol.steps.forEach((step, at) => {
    const where = `steps[${at}]`;
    checkStep(step, protocol, where);
    for (const name of stepsNamedBy(step)) need(name, [...steps.keys()], where, "a step of this file");
    for (const use of [...usesOf(step), ...antisepticUses(step, protocol)])
      checkUse(use, steps.get(use.step), where);
    checkCondition(step.due, `${where}.due`, names);
  });
  // Rules of the judge that name these steps themselves.
  for (const use of usesOfCode(protocol)) checkUse(use, steps.get(use.step), "steps");
}

function need(name: string, among: readonly string[], where: string, expected: string): void {
  if (!among.includes(name)) throw new InvalidInput(where, name, expected);
}

function checkFile(protocol: Protocol, steps: readonly string[]): void {
  const known = (names: readonly string[], where: string) => {
    for (const name of names) need(name, steps, where, "a step of this file");
  };
  protocol.order.forEach((pair, at) => known([pair.before, pair.after], `order[${at}]`));
  known([protocol.after_last.step, ...protocol.after_last.records], "after_last");
  known(protocol.before_patient_out.steps, "before_patient_out");
  known([protocol.time_overrun.from, ...protocol.time_overrun.to], "time_overrun");
  for (const name of [...PLAN, ...Object.keys(protocol.plan)]) {
    need(name, PLAN, "plan", PLAN.join(", "));
    need(name, Object.keys(protocol.plan), "plan", PLAN.join(", "));
  }
  for (const stop of protocol.stops) {
    const [kind = "", ...at] = stop.split(":");
    need(kind, [...UNGRADED_KINDS, ...Object.keys(protocol.grades)], "stops", "a kind of deviation");
    known(at, "stops");
  }
  checkValues(protocol);
}

function checkValues(protocol: Protocol): void {
  const { unit_values, fixed, modes, allergies, grades } = protocol;
  for (const name of [...rangeNames(protocol), ...limitNames(protocol)]) {
    if (!UNITS.some((unit) => name.endsWith(unit))) {
      throw new InvalidInput("unit_values", name, `a name that ends in its unit: ${UNITS.join(", ")}`);
    }
  }
  const own = unit_values as {
    readonly drugs: Readonly<Record<string, { readonly barred_by: readonly string[] }>>;
    readonly dyes: object;
    readonly dye: string;
    readonly modes: object;
  };
  for (const mode of Object.keys(own.modes))
    need(mode, modes, "unit_values.modes", "one of the file's modes");
  for (const mode of modes) need(mode, Object.keys(own.modes), "unit_values.modes", "a range for each mode");
  for (const dye of [own.dye, ...fixed.dyes_barred_by_dry_state_hydrophilic])
    need(dye, Object.keys(own.dyes), "unit_values.dyes", "one of the unit's dyes");
  need(fixed.accept_aloud.drug, Object.keys(own.drugs), "fixed.accept_aloud", "one of the unit's drugs");
  const spoken = Object.values(own.drugs).flatMap(({ barred_by }) => barred_by);
  for (const allergy of [...spoken, fixed.accept_aloud.allergy, fixed.antiseptic_barred_by]) {
    need(allergy, allergies, "unit_values.drugs", "one of the file's allergies");
  }
  const ratios = [
    fixed.dose_ratio_low,
    fixed.dose_ratio_high,
    fixed.dose_ratio_g3_over,
    fixed.dose_ratio_g4_from,
  ];
  if (ratios.some(([, denominator]) => denominator <= 0)) {
    throw new InvalidInput("fixed", "a ratio over 0 or less", "ratios with a denominator above 0");
  }
  need("other", Object.keys(grades.complication), "grades.complication", "a grade for other complications");
}

function checkStep(step: Step, protocol: Protocol, where: string): void {
  const phases = protocol.phases.map(({ phase }) => phase);
  need(step.phase, phases, `${where}.phase`, "one of the file's phases");
  for (const role of step.confirms)
    need(role, protocol.roles, `${where}.confirms`, "one of the file's roles");
  for (const mode of step.settings?.allowed ?? [])
    need(mode, protocol.modes, `${where}.settings`, "one of the file's modes");
  for (const rule of step.tolerance ?? []) {
    const valuesOf = `${where}.tolerance`;
    if ("range" in rule) need(rule.range, rangeNames(protocol), valuesOf, "a range among the unit values");
    if ("limit" in rule) need(rule.limit, limitNames(protocol), valuesOf, "a limit among the unit values");
  }
  if (step.readback?.rule === "lens") {
    for (const name of step.readback.against)
      need(name, LENS_REFERENCES, `${where}.readback`, `one of ${LENS_REFERENCES.join(", ")}`);
  }
  const mustBeTrue = step.omitted?.must_be_true !== undefined;
  if (mustBeTrue !== (step.omitted?.false !== undefined)) {
    throw new InvalidInput(`${where}.omitted`, "one of must_be_true and false", "both or neither");
  }
  step.fields.forEach((field, at) => checkField(field, `${where}.fields[${at}]`));
  if (new Set(step.fields.map(({ name }) => name)).size !== step.fields.length) {
    throw new InvalidInput(`${where}.fields`, "one field twice", "each field once");
  }
  checkAnswers(step, where);
}

function checkField(field: Field, where: string): void {
  const hasChoices = field.type === "one_of" || field.type === "some_of";
  if (hasChoices !== (field.choices !== undefined)) {
    throw new InvalidInput(
      `${where}.choices`,
      `choices of ${field.type}`,
      "choices of one_of or some_of alone",
    );
  }
  if (field.default === undefined) return;
  const isFit =
    (field.type === "boolean" && typeof field.default === "boolean") ||
    (field.type === "whole" && typeof field.default === "number") ||
    (field.type === "one_of" && (field.choices ?? []).includes(String(field.default)));
  if (!isFit) throw new InvalidInput(`${where}.default`, String(field.default), `a value of ${field.type}`);
}

/** Slabs offer fields of the step, and ask next what can be answered by a tap. */
function checkAnswers(step: Step, where: string): void {
  const fields = new Map(step.fields.map((field) => [field.name, field]));
  for (const { value, then_ask } of step.answers ?? []) {
    for (const name of Object.keys(value))
      need(name, [...fields.keys()], `${where}.answers`, "a field of the step");
    const asked = then_ask === undefined ? "boolean" : fields.get(then_ask)?.type;
    if (asked !== "boolean" && asked !== "one_of") {
      throw new InvalidInput(
        `${where}.answers`,
        `then_ask ${then_ask}`,
        "a yes-or-no or one-of field of the step",
      );
    }
  }
}

function checkUse(use: Use, step: Step | undefined, where: string): void {
  const field = step?.fields.find(({ name }) => name === use.field);
  if (field?.type !== use.type) {
    throw new InvalidInput(where, `${use.step}.${use.field}`, `a field of type ${use.type}`);
  }
  if (use.choice !== undefined)
    need(use.choice, field.choices ?? [], where, `a choice of ${use.step}.${use.field}`);
}

/** Other steps that the rules of a step name. */
function stepsNamedBy({ carried_from, omitted, contraindicated, count }: Step): readonly string[] {
  const acceptedAt = contraindicated?.rule === "antiseptic" ? undefined : contraindicated?.accepted_at;
  return [carried_from, omitted?.met_also_by?.step, acceptedAt, count?.opening].filter(
    (name) => name !== undefined,
  );
}

/** The fields that the rules of a step read, its own and those of other steps. */
function usesOf(step: Step): readonly Use[] {
  const own = (type: FieldType, ...fields: readonly string[]): readonly Use[] =>
    fields.map((field) => ({ step: step.step, field, type }));
  const { omitted, count, dose, settings, sutures_field, carried_from } = step;
  const metBy = omitted?.met_also_by;
  return [
    ...(step.asks_hub ? own("boolean", ...HUB) : []),
    ...(step.in_eye_only ? own("boolean", "in_eye") : []),
    ...own("boolean", ...(omitted?.must_be_true ?? [])),
    ...(metBy === undefined ? [] : [{ ...metBy, type: "whole" as const }]),
    ...(sutures_field === undefined ? [] : own("whole", sutures_field)),
    ...(settings === undefined
      ? []
      : [...own("one_of", "mode", "noticed"), ...own("whole", "vacuum_mmhg", "flow_ul_min")]),
    ...(dose === undefined ? [] : [...own("text", dose.of), ...own("whole", "strength_ug_ml", "volume_ul")]),
    ...(dose?.chain ? [...own("whole", "vial_ug", "diluent_ul"), ...own("dilutions", "then")] : []),
    ...(count === undefined
      ? []
      : [...own("counts", count.added, count.out), ...own("boolean", count.retained)]),
    ...(count === undefined ? [] : [{ step: count.opening, field: count.items, type: "counts" as const }]),
    ...(carried_from === undefined ? [] : lensOf(carried_from)),
    ...(step.tolerance ?? []).flatMap((rule) => toleranceUses(step.step, rule)),
    ...readbackUses(step),
    ...contraindicatedUses(step),
    ...substitutionUses(step),
    ...complicationUses(step),
  ];
}

function lensOf(step: string): readonly Use[] {
  return [
    { step, field: "model", type: "text" },
    { step, field: "power_cdpt", type: "whole" },
  ];
}

function toleranceUses(step: string, rule: ToleranceRule): readonly Use[] {
  switch (rule.rule) {
    case "longest_at_least":
    case "any_outside":
    case "last_outside":
      return [{ step, field: rule.field, type: "whole" }];
    case "last_overlap":
      return [rule.diameter, rule.decentration].map((field) => ({ step, field, type: "whole" }));
    case "last_is":
      return [{ step, field: rule.field, type: "one_of", choice: rule.choice }];
    case "last_measured_outside":
      return [
        { step, field: rule.field, type: "whole" },
        { step, field: rule.instrument, type: "text" },
      ];
    case "settings":
      return [{ step, field: "mode", type: "one_of" }];
  }
}

function readbackUses({ step, readback }: Step): readonly Use[] {
  switch (readback?.rule) {
    case undefined:
      return [];
    case "true":
      return [{ step, field: readback.field, type: "boolean" }];
    case "eye":
      return [step, ...(readback.against === "plan" ? [] : [readback.against])].map((name) => ({
        step: name,
        field: "eye",
        type: "one_of",
      }));
    case "lens":
      return [
        ...lensOf(step),
        ...readback.against.filter((name) => name !== "plan").flatMap(lensOf),
        ...(readback.expiry === undefined ? [] : [{ step, field: readback.expiry, type: "day" as const }]),
      ];
    case "unit_dye":
    case "label":
      return [{ step, field: readback.field, type: "text" }];
  }
}

function contraindicatedUses({ step, contraindicated: rule }: Step): readonly Use[] {
  if (rule === undefined) return [];
  if (rule.rule === "antiseptic") return [];
  const placed: readonly Use[] = rule.place === "in_eye" ? [{ step, field: "in_eye", type: "boolean" }] : [];
  const accepted: readonly Use[] =
    rule.accepted_at === undefined
      ? []
      : [
          { step: rule.accepted_at, field: "drug", type: "text" },
          { step: rule.accepted_at, field: "allergy_accepted", type: "boolean" },
        ];
  return [{ step, field: rule.field, type: "text" }, ...placed, ...accepted];
}

function substitutionUses({ step, substitution: rule }: Step): readonly Use[] {
  if (rule === undefined) return [];
  if (rule.rule === "lens")
    return [...lensOf(step), { step, field: rule.site, type: "one_of", choice: "none" }];
  if (rule.rule === "antiseptic") return [];
  return [
    { step, field: rule.field, type: "text" },
    { step, field: "in_eye", type: "boolean" },
  ];
}

function antisepticUses({ step, contraindicated, substitution }: Step, { fixed }: Protocol): readonly Use[] {
  const fields = [contraindicated, substitution].flatMap((rule) =>
    rule?.rule === "antiseptic" ? rule.field : [],
  );
  return fields.map((field) => ({ step, field, type: "one_of", choice: fixed.usual_antiseptic }));
}

function complicationUses({ step, complication: rule }: Step): readonly Use[] {
  if (rule === undefined) return [];
  if (rule.rule === "last_false") return [{ step, field: rule.field, type: "boolean" }];
  return [{ step, field: rule.field, type: "one_of", choice: rule.choice }];
}

/** What the kinds of deviation read by names of their own. */
function usesOfCode({ tear }: Protocol): readonly Use[] {
  return [
    { step: tear.step, field: tear.field, type: "one_of", choice: tear.choice },
    { step: "allergies", field: "allergies", type: "some_of" },
    ...lensOf("lens-plan"),
    ...lensOf("new-lens-plan"),
  ];
}

function conditionNames(protocol: Protocol, steps: ReadonlyMap<string, Step>): ConditionNames {
  const fields = [...steps].map(([code, step]) => [code, step.fields.map(({ name }) => name)] as const);
  const choices = [...steps.values()].flatMap(({ step, fields: own }) =>
    own.flatMap(({ name, choices: words }) =>
      words === undefined ? [] : [[`${step}.${name}`, words] as const],
    ),
  );
  const plan = Object.entries(protocol.plan).map(([name, words]) => [`plan.${name}`, words] as const);
  const reasons = protocol.steps.map(
    ({ step, reasons: own = [] }) => [`not_done.${step}`, [...protocol.not_done_reasons, ...own]] as const,
  );
  return {
    plan: PLAN_PATHS,
    fixed: Object.keys(protocol.fixed),
    fieldsOf: new Map(fields),
    words: new Map([...choices, ...plan, ...reasons]),
  };
}
