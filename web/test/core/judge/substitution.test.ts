/** Kind `substitution`: what reached the eye differs from what was planned. */
import { expect, test } from "vitest";

import { HELD, LENS, draft } from "../../support/draftCase.ts";

const MOXIFLOXACIN = { drug: "moxifloxacin", strength_ug_ml: 5000, volume_ul: 100 };
const B = { model: "AURA-1", power_cdpt: 2200 };
const C = { model: "BREVA-T", power_cdpt: 2150 };

test("another drug of the list: G1 where an allergy bars the planned one, else G2", () => {
  const other = draft().change("intracameral-drug", MOXIFLOXACIN);
  expect(other.found("intracameral-drug/substitution")).toBe("G2");
  other.change("allergies", { allergies: ["cephalosporin"] });
  expect(other.found("intracameral-drug/substitution")).toBe("G1");
  other.change("allergies", { allergies: ["penicillin_mild"] });
  expect(other.found("intracameral-drug/substitution")).toBe("G2");
});

test.each(["gentamicin", "", "__proto__", "constructor", "toString"])(
  "%j is not on the unit's list: G4",
  (drug) => {
    const other = draft().change("intracameral-drug", { drug });
    expect(other.found("intracameral-drug/substitution")).toBe("G4");
    other.change("allergies", { allergies: ["cephalosporin"] });
    expect(other.found("intracameral-drug/substitution")).toBe("G4");
  },
);

test("a name like a built-in one can be on the unit's list", () => {
  const own = draft().change("intracameral-drug", { drug: "__proto__" });
  own.unit = JSON.parse('{"drugs":{"cefuroxime":{"dose_ug":1000},"__proto__":{"dose_ug":1000}}}');
  expect(own.all()).toEqual(["intracameral-drug/substitution G2"]);
});

test("another drug that did not go into the eye is no substitution", () => {
  const out = draft().change("intracameral-drug", { drug: "gentamicin", in_eye: false });
  expect(out.found("intracameral-drug/substitution")).toBeUndefined();
});

function dye(name: string, in_eye = true) {
  const other = draft();
  const value = { dye: name, strength_ug_ml: 600, in_eye, ...HELD };
  return other.record("dye", value, other.at("main-wound") + 1);
}

test("another dye: G4 where it is not on the unit's list, else G2", () => {
  expect(dye("methylene_blue").found("dye/substitution")).toBe("G4");
  expect(dye("methylene_blue", false).found("dye/substitution")).toBeUndefined();
  const listed = dye("brilliant");
  listed.unit = { dyes: { trypan_blue: {}, brilliant: {} } };
  expect(listed.found("dye/substitution")).toBe("G2");
  expect(dye("trypan_blue").found("dye/substitution")).toBeUndefined();
});

test.each(["chlorhexidine", "other"])("antiseptic %s: G1 with iodine allergy, else G2", (agent) => {
  const other = draft().change("antiseptic", { agent });
  expect(other.found("antiseptic/substitution")).toBe("G2");
  other.change("allergies", { allergies: ["iodine"] });
  expect(other.found("antiseptic/substitution")).toBe("G1");
});

test.each([
  ["equals both plans", LENS, LENS, undefined],
  ["differs from the plan alone", B, B, "G3"],
  ["differs from the plan read aloud alone", B, LENS, "G3"],
  ["differs from both", B, C, "G4"],
  ["has the wrong sign", LENS, { ...LENS, power_cdpt: -2150 }, "G4"],
])("lens placed %s: %s", (_name, read, placed, grade) => {
  expect(
    draft().change("lens-plan", read).change("lens-placed", placed).found("lens-placed/substitution"),
  ).toBe(grade);
});

test("without a lens plan read aloud only the plan counts", () => {
  expect(draft().without("lens-plan").change("lens-placed", B).found("lens-placed/substitution")).toBe("G4");
  expect(draft().without("lens-plan").found("lens-placed/substitution")).toBeUndefined();
});

test("a last lens plan that lacks the power counts as none, and the one before it is not used", () => {
  const lacking = draft().change("lens-placed", B).change("lens-plan", B);
  lacking.record("lens-plan", { model: "AURA-1" }, lacking.at("lens-plan") + 1);
  expect(lacking.found("lens-placed/substitution")).toBe("G4");
});

test("a lens plan read aloud after the lens was placed does not count", () => {
  const late = draft().record("lens-plan", B, draft().at("lens-placed") + 1);
  expect(late.found("lens-placed/substitution")).toBeUndefined();
  const same = draft().record("lens-plan", B, draft().at("lens-placed"));
  expect(same.found("lens-placed/substitution")).toBe("G3");
});

test.each([
  ["the new plan's, which is the plan's", LENS, LENS, undefined],
  ["the new plan's", B, B, "G1"],
  ["the old plan's", B, LENS, "G4"],
  ["of neither plan", B, C, "G4"],
])("with a new lens plan in force, a lens %s: %s", (_name, planned, placed, grade) => {
  const torn = draft().change("lens-placed", placed);
  torn.record("new-lens-plan", { ...planned, site: "sulcus" }, torn.at("lens-placed"));
  expect(torn.found("lens-placed/substitution")).toBe(grade);
});

test("a new lens plan made after the lens was placed is not in force", () => {
  const late = draft().record("new-lens-plan", { ...B, site: "sulcus" }, draft().at("lens-placed") + 1);
  expect(late.found("lens-placed/substitution")).toBeUndefined();
});

test("a new lens plan that lacks the model leaves the lens unjudged", () => {
  const torn = draft().change("lens-placed", B);
  torn.record("new-lens-plan", { power_cdpt: 2150, site: "bag" }, torn.at("lens-placed"));
  expect(torn.found("lens-placed/substitution")).toBeUndefined();
});

test.each([
  [{ site: "none", ...B }, undefined],
  [{ site: undefined, ...B }, "G4"],
  [{ site: "sulcus", ...B }, "G4"],
  [{ site: "bag", model: undefined }, undefined],
])("lens placed %j: %s", (changes, grade) => {
  expect(draft().change("lens-placed", changes).found("lens-placed/substitution")).toBe(grade);
});

test("any placed lens counts, not only the last", () => {
  const exchanged = draft().change("lens-placed", C);
  exchanged.record("lens-placed", { ...LENS, site: "bag" }, exchanged.at("lens-placed") + 1);
  expect(exchanged.found("lens-placed/substitution")).toBe("G4");
});
