/** Kind `dose`: worked examples with their published sources, edges, sums and dilution chains. */
import { expect, test } from "vitest";

import { dose_ug } from "../../../src/core/judge/dose.ts";
import type { Json, JsonObject } from "../../../src/core/json.ts";
import { mass } from "../../../src/core/quantity.ts";
import { DOSE, HELD, draft } from "../../support/draftCase.ts";

const MAX = 9_007_199_254_740_991;

function of(value: JsonObject): string | null {
  const found = dose_ug({ get: (field: string): Json | undefined => value[field] });
  return found === null ? null : mass(found);
}

function chain(vial_ug: number, diluent_ul: number, volume_ul: number, then: JsonObject[] = []): JsonObject {
  return { vial_ug, diluent_ul, volume_ul, then };
}

test.each<readonly [string, JsonObject, string]>([
  [
    "cefuroxime eye vial: 50 mg in 5 mL, 0.1 mL (approved product information)",
    chain(50_000, 5000, 100),
    "1 mg",
  ],
  [
    "cefuroxime from 750 mg: 750 mg in 7.5 mL, then 1 mL and 9 mL, 0.1 mL (arithmetic; recipe of common practice)",
    chain(750_000, 7500, 100, [{ take_ul: 1000, add_ul: 9000 }]),
    "1 mg",
  ],
  [
    "cefuroxime, average volume really injected, 0.12 mL",
    { strength_ug_ml: 10_000, volume_ul: 120 },
    "1.2 mg",
  ],
  ["trypan blue 0.06 %, 0.5 mL (label)", { strength_ug_ml: 600, volume_ul: 500 }, "0.3 mg"],
  [
    "moxifloxacin 0.5 %, 0.1 mL (published: 500 ug in 0.1 mL)",
    { strength_ug_ml: 5000, volume_ul: 100 },
    "0.5 mg",
  ],
  ["moxifloxacin 0.1 %, 0.5 mL", { strength_ug_ml: 1000, volume_ul: 500 }, "0.5 mg"],
  [
    "moxifloxacin mixed: 3 mL of 5 mg/mL and 7 mL, 0.4 mL (arithmetic)",
    chain(15_000, 3000, 400, [{ take_ul: 3000, add_ul: 7000 }]),
    "0.6 mg",
  ],
  [
    "dilating mixture, tropicamide 0.2 mg/mL, 0.2 mL (label)",
    { strength_ug_ml: 200, volume_ul: 200 },
    "0.04 mg",
  ],
  [
    "dilating mixture, phenylephrine 3.1 mg/mL, 0.2 mL (label)",
    { strength_ug_ml: 3100, volume_ul: 200 },
    "0.62 mg",
  ],
  [
    "dilating mixture, lidocaine 10 mg/mL, 0.2 mL (label)",
    { strength_ug_ml: 10_000, volume_ul: 200 },
    "2 mg",
  ],
  ["moxifloxacin salt 5.45 mg/mL, 0.05 mL", { strength_ug_ml: 5450, volume_ul: 50 }, "0.2725 mg"],
])("%s", (_name, value, expected) => {
  expect(of(value)).toBe(expected);
});

test("a dose that no decimal holds is shown as about, and compared exactly", () => {
  expect(of(chain(1000, 3000, 1))).toBe("about 0.0003 mg");
});

test.each<readonly [string, JsonObject]>([
  ["no volume", { strength_ug_ml: 1 }],
  ["no strength and no chain", { volume_ul: 1 }],
  ["a vial without diluent", { vial_ug: 1, volume_ul: 1 }],
  ["diluent without a vial", { diluent_ul: 1, volume_ul: 1 }],
  ["diluent of nothing", chain(1, 0, 1)],
  ["a step that takes and adds nothing", chain(1, 1, 1, [{ take_ul: 0, add_ul: 0 }])],
  ["a step that does not say what it takes", chain(1, 1, 1, [{ add_ul: 1 }])],
  ["a step that does not say what it adds", chain(1, 1, 1, [{ take_ul: 1 }])],
])("with %s the dose is not known", (_name, value) => {
  expect(of(value)).toBeNull();
});

function drawn(value: JsonObject) {
  const check = draft();
  check.of("drug-check")["value"] = { drug: "cefuroxime", ...value };
  return check.found("drug-check/dose");
}

/** Planned 1,000 ug; 0.8 and 1.2 are inside. */
test.each([
  [79, "G2 caught"],
  [80, undefined],
  [100, undefined],
  [120, undefined],
  [121, "G2 caught"],
  [1000, "G2 caught"],
])("drawn up: %i uL of 10 mg/mL cefuroxime: %s", (volume_ul, grade) => {
  expect(drawn({ strength_ug_ml: 10_000, volume_ul })).toBe(grade);
});

test("edges are met exactly by fractions", () => {
  expect(drawn({ strength_ug_ml: 7999, volume_ul: 100 })).toBe("G2 caught");
  expect(drawn({ strength_ug_ml: 8000, volume_ul: 100 })).toBeUndefined();
  // 3 parts in 7 of 2,800 ug/mL are exactly 1,200 ug/mL; one more microgram in the vial is too much.
  const then = [{ take_ul: 3, add_ul: 4 }];
  expect(drawn({ vial_ug: 28_000, diluent_ul: 10_000, volume_ul: 1000, then })).toBeUndefined();
  expect(drawn({ vial_ug: 28_001, diluent_ul: 10_000, volume_ul: 1000, then })).toBe("G2 caught");
});

test("second dilution forgotten: ten times the dose is stopped when it is read (13 eyes at 9 mg, published)", () => {
  expect(drawn(chain(750_000, 7500, 100))).toBe("G2 caught");
});

function given(volume_ul: number, changes: JsonObject = {}) {
  return draft()
    .change("intracameral-drug", { volume_ul, ...changes })
    .found("intracameral-drug/dose");
}

test.each([
  [79, "G2"],
  [80, undefined],
  [120, undefined],
  [121, "G2"],
  [300, "G2"],
  [301, "G3"],
  [899, "G3"],
  [900, "G4"],
  [1000, "G4"],
])("in the eye: %i uL of 10 mg/mL cefuroxime: %s", (volume_ul, grade) => {
  expect(given(volume_ul)).toBe(grade);
});

test("drawn up at the table but not in the eye: G2 whatever the dose", () => {
  expect(given(1000, { in_eye: false })).toBe("G2 caught");
  expect(given(100, { in_eye: false })).toBeUndefined();
});

function moxifloxacin(strength_ug_ml: number, volume_ul: number) {
  const other = draft();
  other.plan.drug = "moxifloxacin";
  return other
    .change("intracameral-drug", { drug: "moxifloxacin", strength_ug_ml, volume_ul })
    .found("intracameral-drug/dose");
}

test("right volume, wrong bottle: the two strengths of moxifloxacin", () => {
  expect(moxifloxacin(5000, 100)).toBeUndefined();
  expect(moxifloxacin(1000, 500)).toBeUndefined();
  expect(moxifloxacin(5000, 500)).toBe("G3");
  expect(moxifloxacin(1000, 100)).toBe("G2");
  expect(moxifloxacin(5000, 300)).toBe("G2");
});

test("doses of one drug in the eye are added up, doses of two drugs are not", () => {
  const twice = draft();
  twice.record("intracameral-drug", { ...DOSE, ...HELD }, twice.at("intracameral-drug") + 1);
  expect(twice.found("intracameral-drug/dose")).toBe("G2");
  const other = draft();
  const half = { drug: "moxifloxacin", strength_ug_ml: 5000, volume_ul: 100, ...HELD };
  other.record("intracameral-drug", half, other.at("intracameral-drug") + 1);
  expect(other.found("intracameral-drug/dose")).toBeUndefined();
});

test("two halves make a whole dose", () => {
  const halves = draft().change("intracameral-drug", { volume_ul: 50 });
  halves.record("intracameral-drug", { ...DOSE, ...HELD, volume_ul: 50 }, halves.at("intracameral-drug") + 1);
  expect(halves.found("intracameral-drug/dose")).toBeUndefined();
});

test("a sum passes over a record that lacks the volume, and is not judged when all do", () => {
  expect(draft().change("intracameral-drug", { volume_ul: undefined }).found("intracameral-drug/dose")).toBe(
    undefined,
  );
  const two = draft();
  two.record(
    "intracameral-drug",
    { drug: "cefuroxime", strength_ug_ml: 1, ...HELD },
    two.at("intracameral-drug"),
  );
  expect(two.found("intracameral-drug/dose")).toBeUndefined();
});

test("one record that was caught and one in the eye are together not caught", () => {
  const both = draft().change("intracameral-drug", { volume_ul: 300 });
  both.record(
    "intracameral-drug",
    { ...DOSE, volume_ul: 1000, in_eye: false },
    both.at("intracameral-drug") - 1,
  );
  expect(both.found("intracameral-drug/dose")).toBe("G2");
});

test("the planned dose is the drug's own, whatever the plan named; unlisted drugs are not judged", () => {
  expect(given(100, { drug: "moxifloxacin" })).toBe("G2");
  expect(given(100, { drug: "vancomycin" })).toBeUndefined();
  expect(given(100, { drug: "constructor" })).toBeUndefined();
  expect(given(100, { drug: "__proto__" })).toBeUndefined();
});

test("a unit's own list replaces the whole list, and a drug without a dose is not judged", () => {
  const own = draft().change("intracameral-drug", { volume_ul: 50 });
  own.unit = { drugs: { cefuroxime: { dose_ug: 500 } } };
  expect(own.found("intracameral-drug/dose")).toBeUndefined();
  expect(own.found("drug-check/dose")).toBe("G2 caught");
  own.unit = { drugs: { cefuroxime: {} } };
  expect(own.found("drug-check/dose")).toBeUndefined();
});

test("another medicine has no planned dose", () => {
  const other = draft();
  const value = { drug: "cefuroxime", strength_ug_ml: 100_000, volume_ul: 1000, ...HELD };
  expect(
    other.record("other-medicine", value, other.at("intracameral-drug")).found("other-medicine/dose"),
  ).toBe(undefined);
});

function dye(volume_ul: number | undefined, in_eye: boolean) {
  const blue = draft();
  const value = { dye: "trypan_blue", strength_ug_ml: 1000, in_eye, ...HELD };
  const volume = volume_ul === undefined ? {} : { volume_ul };
  return blue.record("dye", { ...value, ...volume }, blue.at("main-wound") + 1).found("dye/dose");
}

/** The most of trypan blue is 300 ug (0.3 mg, label); 360 ug is the edge. */
test.each([
  [0, undefined],
  [360, undefined],
  [361, "G2"],
  [900, "G2"],
  [901, "G3"],
  [2699, "G3"],
  [2700, "G4"],
])("dye in the eye: %i ug of at most 300: %s", (volume_ul, grade) => {
  expect(dye(volume_ul, true)).toBe(grade);
});

test("dye not in the eye is G2 and caught; without a volume it is not judged", () => {
  expect(dye(2700, false)).toBe("G2 caught");
  expect(dye(360, false)).toBeUndefined();
  expect(dye(undefined, true)).toBeUndefined();
});

test("products far beyond 2^53 stay exact", () => {
  const edge = draft();
  edge.unit = { drugs: { cefuroxime: { dose_ug: MAX } } };
  // 1.2 times the planned dose, in thousandths, is 6 * MAX / 5: strength MAX and volume 1,200 meet it exactly.
  edge.change("intracameral-drug", { strength_ug_ml: MAX, volume_ul: 1200 });
  expect(edge.found("intracameral-drug/dose")).toBeUndefined();
  edge.record("intracameral-drug", { drug: "cefuroxime", strength_ug_ml: 1, volume_ul: 1 }, 0);
  expect(edge.found("intracameral-drug/dose")).toBe("G2");
});
