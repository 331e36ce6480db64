/** Kind `out_of_order`: order pairs on first records, after the last look, after the patient left. */
import { expect, test } from "vitest";

import { DOSE, HELD, LENS, draft } from "../../support/draftCase.ts";

/** The pairs of contract section 5, written out; "!" marks those of grade G3. */
const PAIRS: readonly (readonly [string, string])[] = [
  ["patient-identity", "time-out"],
  ["marked-eye", "time-out"],
  ["allergies", "time-out"],
  ["marked-eye", "block-eye!"],
  ["allergies", "block-eye!"],
  ["antiseptic", "main-wound!"],
  ["time-out", "main-wound!"],
  ["lens-plan", "main-wound!"],
  ["syringe-labels", "main-wound"],
  ["opening-count", "main-wound!"],
  ["allergies", "drug-check"],
  ["drug-check", "intracameral-drug!"],
  ["dye", "rhexis"],
  ["viscoelastic-fill", "rhexis"],
  ["rhexis", "ultrasound-mode"],
  ["ultrasound-mode", "cortex-mode"],
  ["cortex-mode", "posterior-capsule"],
  ["posterior-capsule", "lens-box"],
  ["viscoelastic-bag", "lens-placed"],
  ["lens-box", "lens-placed!"],
  ["lens-placed", "washout"],
  ["washout-mode", "washout"],
  ["washout", "wound-hydration"],
  ["wound-hydration", "seal-check"],
  ["seal-check", "intracameral-drug"],
  ["intracameral-drug", "final-look"],
  ["final-look", "closing-count"],
  ["closing-count", "sign-out"],
  ["sign-out", "surgeon-sign-off"],
  ["tear-hold", "vitrectomy-mode"],
  ["vitrectomy-mode", "new-lens-plan"],
];

/** A case of two records alone. */
function two(before: string, after: string, before_ms: number, after_ms: number) {
  const pair = draft();
  pair.events = [];
  const value = { in_eye: true };
  return pair.record(before, value, before_ms).record(after, value, after_ms);
}

test.each(PAIRS)("%s belongs before %s", (before, graded) => {
  const after = graded.replace("!", "");
  const grade = graded.endsWith("!") ? "G3" : "G1";
  expect(two(before, after, 1000, 1001).found(`${after}/out_of_order`)).toBeUndefined();
  expect(two(before, after, 1000, 1000).found(`${after}/out_of_order`)).toBeUndefined();
  // After the last look a drug in the eye is G2, whatever the pair says.
  const expected = after === "final-look" ? "G2" : grade;
  expect(two(before, after, 1001, 1000).found(`${after}/out_of_order`)).toBe(expected);
});

test("only first records are compared", () => {
  const again = draft();
  again.record("antiseptic", { contact_s: 150 }, again.at("main-wound") + 1000);
  expect(again.all()).toEqual([]);
});

test("a pair with one of its steps missing is not broken", () => {
  expect(draft().without("antiseptic").found("main-wound/out_of_order")).toBeUndefined();
});

test("a step that came before several others is one deviation, with all of them named and the highest grade", () => {
  const early = draft().move("main-wound", draft().at("antiseptic") - 1);
  const [found] = early.judged().deviations.filter(({ kind }) => kind === "out_of_order");
  expect(found).toMatchObject({ step: "main-wound", grade: "G3", caught: false });
  for (const step of ["antiseptic", "time-out", "lens-plan", "syringe-labels", "opening-count"]) {
    expect(found?.detail).toContain(step);
  }
});

test("for a drug or a dye only records in the eye count as first", () => {
  const drawn = draft();
  drawn.record("intracameral-drug", { ...DOSE, in_eye: false }, drawn.at("drug-check") - 1);
  expect(drawn.all()).toEqual([]);
  drawn.record("intracameral-drug", { ...DOSE, ...HELD }, drawn.at("drug-check") - 1);
  expect(drawn.found("intracameral-drug/out_of_order")).toBe("G3");
});

test("a dye without the word that it went into the eye does not count as first", () => {
  const dye = { dye: "trypan_blue", strength_ug_ml: 600, volume_ul: 100, ...HELD };
  const late = draft();
  late.record("dye", dye, late.at("rhexis") + 1);
  expect(late.found("rhexis/out_of_order")).toBeUndefined();
});

function torn(tornAt_ms: number, step: string, planAt_ms: number) {
  const branch = draft();
  branch.events = [];
  branch.record("posterior-capsule", { state: "intact" }, 0);
  branch.record("posterior-capsule", { state: "torn" }, tornAt_ms);
  return branch.record(step, {}, 2000).record("new-lens-plan", { ...LENS, site: "bag" }, planAt_ms);
}

test.each(["viscoelastic-bag", "lens-box"])("after a tear a new lens plan belongs before %s", (step) => {
  expect(torn(1999, step, 2001).found(`${step}/out_of_order`)).toBe("G1");
  expect(torn(1999, step, 2000).found(`${step}/out_of_order`)).toBeUndefined();
  expect(torn(2000, step, 2001).found(`${step}/out_of_order`)).toBeUndefined();
  expect(torn(2001, step, 3000).found(`${step}/out_of_order`)).toBeUndefined();
});

test.each<readonly [string, Record<string, boolean | number | string>]>([
  ["wound-hydration", HELD],
  ["wound-hydration", {}],
  ["wound-hydration", { sutures: 1 }],
  ["wound-hydration", { sutures: 0, syringe_label: "balanced_salt" }],
  ["wound-suture", { sutures: 1 }],
  ["intracameral-drug", { in_eye: true }],
  ["intracameral-drug", {}],
  ["other-medicine", {}],
])("%s %j after the last look is reported on the last look", (step, value) => {
  const at_ms = draft().at("final-look");
  expect(draft().record(step, value, at_ms).found("final-look/out_of_order")).toBeUndefined();
  expect(
    draft()
      .record(step, value, at_ms + 1)
      .found("final-look/out_of_order"),
  ).toBe("G2");
});

test.each<readonly [string, Record<string, boolean | number>]>([
  ["wound-hydration", { sutures: 0 }],
  ["wound-suture", { sutures: 0 }],
  ["wound-suture", {}],
  ["intracameral-drug", { in_eye: false }],
  ["other-medicine", { in_eye: false }],
])("%s %j after the last look is in order", (step, value) => {
  const after = draft().record(step, value, draft().at("final-look") + 1);
  expect(after.found("final-look/out_of_order")).toBeUndefined();
});

test("a look after the last injection puts the order right", () => {
  const again = draft();
  again.record("wound-hydration", HELD, again.at("final-look") + 1000);
  again.record("final-look", { state: "dry", tone: "normal" }, again.at("final-look") + 2000);
  expect(again.all()).toEqual([]);
});

test.each(["closing-count", "sign-out"])("%s belongs before the patient leaves", (step) => {
  const at_ms = draft().at(step);
  const left = (out_ms: number) => draft().add("room", { moment: "patient_out" }, out_ms);
  expect(left(at_ms).found(`${step}/out_of_order`)).toBeUndefined();
  expect(left(at_ms - 1).found(`${step}/out_of_order`)).toBe("G2");
});

test("the first patient_out and the first record decide", () => {
  const left = draft();
  left.add("room", { moment: "patient_out" }, left.at("sign-out") + 1);
  left.add("room", { moment: "patient_out" }, left.at("surgeon-sign-off") + 1);
  left.record("sign-out", left.of("sign-out")["value"] as Record<string, boolean>, left.at("sign-out") + 500);
  expect(left.all()).toEqual([]);
});

test("a patient_out taken back, patient_in and a room event without a moment say nothing", () => {
  const left = draft()
    .add("room", { moment: "patient_out", id: "slip" }, 0)
    .add("correct", { corrects: "slip", void: true }, 1)
    .add("room", { moment: "patient_in" }, 2)
    .add("room", {}, 3);
  expect(left.all()).toEqual([]);
});

test("too soon and after the patient left on one step is one deviation", () => {
  const left = draft().add("room", { moment: "patient_out" }, 0);
  left.move("sign-out", left.at("closing-count") - 1);
  const found = left.judged().deviations.filter(({ step }) => step === "sign-out");
  expect(found.map(({ kind, grade }) => [kind, grade])).toEqual([["out_of_order", "G2"]]);
});
