/** The protocol file and its loader, which refuses what it does not wholly understand. */
import { describe, expect, test } from "vitest";

import { read } from "../../src/core/caseFile.ts";
import { InvalidInput } from "../../src/core/errors.ts";
import type { Json } from "../../src/core/json.ts";
import { load } from "../../src/core/protocol.ts";
import { parse } from "../../src/core/strictJson.ts";
import { draft, protocol, protocolText } from "../support/draftCase.ts";

interface Open {
  [name: string]: Open;
}

/** The protocol file as a value that a test may spoil; its members are not known to the types. */
function spoiled(change: (file: Open) => void): Json {
  const file = JSON.parse(protocolText) as Open;
  change(file);
  return file;
}

function where(change: (file: Open) => void): string | null {
  try {
    load(spoiled(change));
  } catch (error) {
    if (error instanceof InvalidInput) return error.where;
    throw error;
  }
  return null;
}

function isText(found: Open | undefined, text: string): boolean {
  return (found as unknown) === text;
}

function stepOf(file: Open, code: string): Open {
  const step = Object.values(file["steps"] ?? {}).find((one) => isText(one["step"], code));
  if (step === undefined) throw new Error(`no step ${code}`);
  return step;
}

/** Sets the member that `path` leads to, from the step `code` or, without one, from the file. */
function set(code: string | null, path: string, value: Json): (file: Open) => void {
  return (file) => {
    const names = path.split(".");
    const last = names.pop() ?? "";
    const start = code === null ? file : stepOf(file, code);
    const holder = names.reduce<Open>((found, name) => found[name] ?? {}, start);
    holder[last] = value as unknown as Open;
  };
}

test("the file is strict JSON and is understood", () => {
  expect(load(parse(protocolText)).protocol).toBe("phaco-cataract@1");
});

describe("a member that is not known is refused", () => {
  test.each<readonly [string | null, string]>([
    [null, "extra"],
    [null, "plan.lens"],
    [null, "unit_values.extra_um"],
    [null, "unit_values.drugs.cefuroxime.extra"],
    [null, "fixed.extra"],
    [null, "grades.extra"],
    [null, "grades.dose.extra"],
    [null, "tear.extra"],
    [null, "order.0.extra"],
    ["rhexis", "extra"],
    ["rhexis", "fields.0.extra"],
    ["rhexis", "fields.0.refuse.extra"],
    ["rhexis", "tolerance.0.extra"],
    ["rhexis", "omitted.extra"],
    ["rhexis", "complication.extra"],
    ["lens-box", "readback.extra"],
    ["dye", "dose.extra"],
    ["dye", "contraindicated.extra"],
    ["dye", "substitution.extra"],
    ["closing-count", "count.extra"],
    ["seal-check", "answers.0.extra"],
  ])("in %s: %s", (code, path) => {
    expect(where(set(code, path, "x"))).not.toBeNull();
  });
});

test("a unit value without a unit at the end of its name is refused", () => {
  expect(where(set(null, "unit_values.extra", 1))).toBe("unit_values");
  expect(where(set(null, "unit_values.extra_um", 1))).toBeNull();
});

describe("a name that the file does not hold is refused", () => {
  test.each<readonly [string | null, string]>([
    ["rhexis", "phase"],
    ["rhexis", "confirms.0"],
    ["rhexis", "kind"],
    ["rhexis", "fields.0.type"],
    ["rhexis", "tolerance.0.rule"],
    ["rhexis", "tolerance.0.diameter"],
    ["rhexis", "tolerance.0.decentration"],
    ["rhexis", "tolerance.0.limit"],
    ["rhexis", "tolerance.0.grade"],
    ["rhexis", "tolerance.1.field"],
    ["rhexis", "tolerance.1.range"],
    ["rhexis", "complication.field"],
    ["seal-check", "tolerance.0.choice"],
    ["final-look", "tolerance.3.instrument"],
    ["posterior-capsule", "complication.choice"],
    ["washout", "omitted.must_be_true.0"],
    ["wound-suture", "omitted.met_also_by.step"],
    ["wound-suture", "omitted.met_also_by.field"],
    ["cortex-mode", "settings.allowed.0"],
    ["time-out", "readback.against"],
    ["lens-box", "readback.against.0"],
    ["lens-box", "readback.expiry"],
    ["patient-identity", "readback.field"],
    ["intracameral-drug", "dose.of"],
    ["intracameral-drug", "contraindicated.field"],
    ["intracameral-drug", "contraindicated.place"],
    ["intracameral-drug", "contraindicated.accepted_at"],
    ["intracameral-drug", "substitution.field"],
    ["lens-placed", "substitution.site"],
    ["lens-placed", "carried_from"],
    ["closing-count", "count.opening"],
    ["closing-count", "count.items"],
    ["closing-count", "count.added"],
    ["closing-count", "count.out"],
    ["closing-count", "count.retained"],
    ["wound-hydration", "sutures_field"],
    ["viscoelastic-fill", "answers.3.then_ask"],
    ["antiseptic", "fields.1.default"],
    [null, "order.0.before"],
    [null, "order.0.after"],
    [null, "order.0.grade"],
    [null, "after_last.step"],
    [null, "after_last.records.0"],
    [null, "before_patient_out.steps.0"],
    [null, "time_overrun.from"],
    [null, "time_overrun.to.0"],
    [null, "tear.step"],
    [null, "tear.field"],
    [null, "tear.choice"],
    [null, "unit_values.dye"],
    [null, "unit_values.drugs.cefuroxime.barred_by.0"],
    [null, "modes.0"],
    [null, "fixed.dyes_barred_by_dry_state_hydrophilic.0"],
    [null, "fixed.accept_aloud.drug"],
    [null, "fixed.accept_aloud.allergy"],
    [null, "fixed.usual_antiseptic"],
    [null, "fixed.antiseptic_barred_by"],
    [null, "stops.0"],
    [null, "stops.3"],
    [null, "roles.0"],
    [null, "phases.0.phase"],
  ])("in %s: %s", (code, path) => {
    expect(where(set(code, path, "unheard-of"))).not.toBeNull();
  });

  const without = (code: string) => (file: Open) => {
    const kept = Object.values(file["steps"] ?? {}).filter((step) => !isText(step["step"], code));
    const pairs = Object.values(file["order"] ?? {}).filter(
      (pair) => !isText(pair["before"], code) && !isText(pair["after"], code),
    );
    Object.assign(file, { steps: kept, order: pairs });
  };

  test.each(["allergies", "lens-plan", "new-lens-plan", "marked-eye"])(
    "where the step %s is gone that other rules read",
    (code) => {
      expect(where(without(code))).not.toBeNull();
    },
  );

  test("but a step that no other rule reads may go", () => {
    expect(where(without("hydrodissection"))).toBeNull();
  });
});

describe("a condition is refused", () => {
  test.each<readonly [string, Json]>([
    ["that is no list", true],
    ["of nothing", []],
    ["with an unknown operator", ["xor", ["lit", true], ["lit", true]]],
    ["with too few operands", ["==", ["lit", 1]]],
    ["with too many operands", ["not", ["lit", true], ["lit", true]]],
    ["with a list for a literal", ["lit", [1]]],
    ["with null for a literal", ["lit", null]],
    ["on an unknown fact", ["ref", "weather"]],
    ["on a built-in name", ["ref", "constructor"]],
    ["on a part of a fact that has none", ["ref", "torn", "x"]],
    ["on an unknown part of the plan", ["ref", "plan", "eyes"]],
    ["on an unknown fixed value", ["ref", "fixed", "x"]],
    ["on the last record of an unknown step", ["ref", "last", "rhexes", "diameter_um"]],
    ["on an unknown field", ["ref", "last", "rhexis", "diameter"]],
    ["on records of an unknown step", ["count", ["ref", "records", "rhexes"], ["lit", true]]],
    ["on an unknown field of the records", ["any", ["ref", "records", "rhexis"], ["ref", "it", "state"]]],
    ["on `it` outside a list", ["ref", "it", "state"]],
    ["over what is no list of records", ["any", ["ref", "not_done", "rhexis"], ["lit", true]]],
    ["with a word that is no choice of the plan", ["==", ["ref", "plan", "eye"], ["lit", "both"]]],
    [
      "with a word that is no choice of a field",
      ["==", ["lit", "wet"], ["ref", "last", "seal-check", "state"]],
    ],
    [
      "with a word that is no choice of the records' field",
      ["any", ["ref", "records", "seal-check"], ["==", ["ref", "it", "state"], ["lit", "wet"]]],
    ],
    ["with a word that is no reason", ["in", ["lit", "tired"], ["ref", "not_done", "rhexis"]]],
    ["somewhere inside", ["or", ["lit", true], ["and", ["lit", true], ["not", ["ref", "x"]]]]],
  ])("%s", (_name, due) => {
    expect(where(set("rhexis", "due", due))).toMatch(/steps\[\d+\]\.due$/);
  });
});

describe("a condition is met", () => {
  /** Whether rhexis is due by this condition, in a clean case where it was left out and 2 seals were checked. */
  function isDue(due: Json): boolean {
    const changed = load(spoiled(set("rhexis", "due", due)));
    const clean = draft().without("rhexis");
    clean.record("seal-check", { state: "leak" }, clean.at("seal-check") - 1);
    clean.add("not_done", { step: "rhexis", reason: "no_time" }, 0);
    return clean.judged({}, changed).steps.has("rhexis");
  }

  const SEAL: Json = ["ref", "records", "seal-check"];
  const LEAK: Json = ["==", ["ref", "it", "state"], ["lit", "leak"]];
  const ABSENT: Json = ["ref", "last", "seal-check", "method"];

  test.each<readonly [Json, boolean]>([
    [["lit", true], true],
    [["lit", 1], false],
    [["==", ["lit", 1], ["lit", 1]], true],
    [["==", ["lit", 1], ["lit", true]], false],
    [["==", ["lit", 1], ["lit", "1"]], false],
    [["==", ["ref", "plan", "eye"], ["lit", "right"]], true],
    [["==", ["ref", "plan", "lens", "power_cdpt"], ["lit", 2150]], true],
    [["ref", "plan", "lens", "dry_state_hydrophilic"], false],
    [["ref", "torn"], false],
    [["==", ["ref", "last", "seal-check", "state"], ["lit", "dry"]], true],
    [["==", ABSENT, ABSENT], false],
    [["not", ["==", ABSENT, ["lit", "sponge"]]], true],
    [["<", ABSENT, ["lit", 1]], false],
    [[">", ABSENT, ["lit", 1]], false],
    [[">", ["lit", 2], ["lit", 1]], true],
    [[">", ["lit", 1], ["lit", 1]], false],
    [[">=", ["lit", 1], ["lit", 1]], true],
    [["<", ["lit", 1], ["lit", 1]], false],
    [["<=", ["lit", 1], ["lit", 1]], true],
    [["<", ["lit", "a"], ["lit", "b"]], false],
    [["==", ["count", SEAL, LEAK], ["lit", 1]], true],
    [["any", SEAL, LEAK], true],
    [["any", ["ref", "records", "wound-suture"], ["lit", true]], false],
    [["in", ["lit", "no_time"], ["ref", "not_done", "rhexis"]], true],
    [["in", ["lit", "no_time"], ["ref", "not_done", "dye"]], false],
    [["and", ["lit", true], ["lit", false]], false],
    [["or", ["lit", false], ["lit", true]], true],
    [["==", ["ref", "fixed", "suture_wound_um"], ["lit", 3000]], true],
  ])("%j: %s", (due, expected) => {
    expect(isDue(due)).toBe(expected);
  });
});

test("a new step, order pair, range of the unit and grade need no code", () => {
  const changed = load(
    spoiled((file) => {
      const added = structuredClone(stepOf(file, "main-wound"));
      const rule = { rule: "any_outside", field: "width_um", range: "side_wound_um", grade: "G2" };
      Object.assign(added, {
        step: "side-wound",
        code: "P1b",
        omitted: { no_record: "G4" },
        tolerance: [rule],
      });
      set(null, "unit_values.side_wound_um", [800, 1200])(file);
      const pair = { before: "side-wound", after: "rhexis", grade: "G3" };
      Object.assign(file, {
        steps: [...Object.values(file["steps"] ?? {}), added],
        order: [...Object.values(file["order"] ?? {}), pair],
      });
    }),
  );
  const wounds = draft();
  expect(wounds.judged({}, changed).deviations.map(({ key, grade }) => `${key} ${grade}`)).toEqual([
    "side-wound/omitted G4",
  ]);
  wounds.record("side-wound", { width_um: 1201 }, wounds.at("rhexis") + 1);
  expect(wounds.judged({}, changed).deviations.map(({ key, grade }) => `${key} ${grade}`)).toEqual([
    "rhexis/out_of_order G3",
    "side-wound/out_of_tolerance G2",
  ]);
  wounds.unit = { side_wound_um: [800, 1300] };
  expect(wounds.judged({}, changed).deviations.map(({ key }) => key)).toEqual(["rhexis/out_of_order"]);
});

test.each(
  protocol.steps.flatMap((step) =>
    (step.answers ?? []).map(({ label, value }) => [step.step, label, value] as const),
  ),
)("%s: the slab %j stores a value that a case file may hold", (step, _label, value) => {
  const tapped = draft().record(step, value, 0);
  expect(() => read(parse(JSON.stringify(tapped.file())), protocol)).not.toThrow();
});
