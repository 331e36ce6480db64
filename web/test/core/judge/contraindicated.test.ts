/** Kind `contraindicated`: allergies against drugs and antiseptic, the planned lens against the dye. */
import { expect, test } from "vitest";

import { DOSE, HELD, draft } from "../../support/draftCase.ts";

function allergic(...allergies: readonly string[]) {
  return draft().change("allergies", { allergies: [...allergies] });
}

test.each(["cephalosporin", "penicillin_severe"])("%s bars cefuroxime", (allergy) => {
  expect(allergic(allergy).found("drug-check/contraindicated")).toBe("G2 caught");
  expect(allergic(allergy).found("intracameral-drug/contraindicated")).toBe("G3");
});

test.each(["fluoroquinolone", "latex", "other", "none"])("%s does not bar cefuroxime", (allergy) => {
  expect(allergic(allergy).all()).toEqual([]);
});

test("fluoroquinolone allergy bars moxifloxacin", () => {
  const mox = allergic("fluoroquinolone");
  mox.plan.drug = "moxifloxacin";
  const value = { drug: "moxifloxacin", strength_ug_ml: 5000, volume_ul: 100 };
  mox.change("drug-check", value).change("intracameral-drug", value);
  expect(mox.all()).toEqual(["drug-check/contraindicated G2", "intracameral-drug/contraindicated G3"]);
});

test("a barred drug that did not go into the eye was caught", () => {
  const out = allergic("cephalosporin").change("intracameral-drug", { in_eye: false });
  expect(out.found("intracameral-drug/contraindicated")).toBe("G2 caught");
});

test("another medicine is barred too", () => {
  const value = { ...DOSE, ...HELD };
  const at_ms = draft().at("intracameral-drug");
  expect(
    allergic("cephalosporin").record("other-medicine", value, at_ms).found("other-medicine/contraindicated"),
  ).toBe("G3");
  expect(
    allergic("cephalosporin")
      .record("other-medicine", { ...value, in_eye: false }, at_ms)
      .found("other-medicine/contraindicated"),
  ).toBe("G2 caught");
});

test("a drug that the unit does not list, or lists without bars, is not known to be barred", () => {
  const own = allergic("cephalosporin");
  own.unit = { drugs: { cefuroxime: { dose_ug: 1000 } } };
  expect(own.found("drug-check/contraindicated")).toBeUndefined();
});

test("allergies are all that stand in any allergies record", () => {
  const two = allergic("cephalosporin");
  two.record("allergies", { allergies: ["none"] }, two.at("allergies") + 1);
  expect(two.found("drug-check/contraindicated")).toBe("G2 caught");
  expect(allergic().record("allergies", {}, 0).found("drug-check/contraindicated")).toBeUndefined();
});

test("mild penicillin allergy: cefuroxime in the eye needs an acceptance said aloud at the drug check", () => {
  expect(allergic("penicillin_mild").all()).toEqual(["intracameral-drug/contraindicated G2"]);
  expect(allergic("penicillin_mild").change("drug-check", { allergy_accepted: true }).all()).toEqual([]);
  expect(
    allergic("penicillin_mild")
      .change("drug-check", { allergy_accepted: true, drug: "moxifloxacin" })
      .found("intracameral-drug/contraindicated"),
  ).toBe("G2");
  expect(
    allergic("penicillin_mild")
      .change("intracameral-drug", { in_eye: false })
      .found("intracameral-drug/contraindicated"),
  ).toBeUndefined();
});

test("mild penicillin allergy asks nothing of another medicine or another drug", () => {
  const other = allergic("penicillin_mild").without("intracameral-drug");
  other.record("other-medicine", { ...DOSE, ...HELD }, other.at("seal-check"));
  expect(other.found("other-medicine/contraindicated")).toBeUndefined();
});

test("an acceptance does not lift a bar", () => {
  const both = allergic("penicillin_mild", "cephalosporin").change("drug-check", { allergy_accepted: true });
  expect(both.found("intracameral-drug/contraindicated")).toBe("G3");
});

test("povidone-iodine with iodine allergy, also where the agent was not said", () => {
  expect(allergic("iodine").all()).toEqual(["antiseptic/contraindicated G3"]);
  expect(
    allergic("iodine").change("antiseptic", { agent: "povidone_iodine" }).found("antiseptic/contraindicated"),
  ).toBe("G3");
  expect(
    allergic("iodine").change("antiseptic", { agent: "chlorhexidine" }).found("antiseptic/contraindicated"),
  ).toBeUndefined();
});

function blue(in_eye: boolean, name = "trypan_blue") {
  const dry = draft();
  dry.plan.lens.dry_state_hydrophilic = true;
  const value = { dye: name, strength_ug_ml: 600, volume_ul: 100, in_eye, ...HELD };
  return dry.record("dye", value, dry.at("main-wound") + 1);
}

test("trypan blue is barred by a dry-state hydrophilic lens", () => {
  expect(blue(true).found("dye/contraindicated")).toBe("G3");
  expect(blue(false).found("dye/contraindicated")).toBe("G2 caught");
  const wet = blue(true);
  wet.plan.lens.dry_state_hydrophilic = false;
  expect(wet.found("dye/contraindicated")).toBeUndefined();
});

test("no other dye is barred by the lens, nor trypan blue where the unit does not list it", () => {
  expect(blue(true, "brilliant").found("dye/contraindicated")).toBeUndefined();
  const unlisted = blue(true);
  unlisted.unit = { dyes: {} };
  expect(unlisted.found("dye/contraindicated")).toBeUndefined();
});
