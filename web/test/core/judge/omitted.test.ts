/** Kind `omitted`: due steps without a record, and answers that were left false. */
import { expect, test } from "vitest";

import { HELD, LENS, draft } from "../../support/draftCase.ts";

test("an operation in which everything was done has no deviation", () => {
  expect(draft().all()).toEqual([]);
});

test("a torn capsule with its branch done has the complication alone", () => {
  expect(draft().tear().all()).toEqual(["posterior-capsule/complication G4"]);
});

const GRADES = new Map([
  ["team-brief", "G1"],
  ["washout-mode", "G1"],
  ["marked-eye", "G3"],
  ["time-out", "G3"],
  ["lens-plan", "G3"],
  ["lens-box", "G3"],
  ["intracameral-drug", "G3"],
  ["closing-count", "G3"],
]);

test.each(draft().events.map(({ id }) => id))("%s without a record is omitted", (step) => {
  expect(draft().without(step).found(`${step}/omitted`)).toBe(GRADES.get(step) ?? "G2");
});

test.each(draft().events.map(({ id }) => id))("the live screen says nothing of a missing %s", (step) => {
  expect(draft().without(step).found(`${step}/omitted`, { isOpen: true })).toBeUndefined();
});

test("of an empty case all 30 due steps are omitted, and nothing else is said", () => {
  const empty = draft();
  empty.events = [];
  expect(empty.judged().deviations.map(({ kind }) => kind)).toEqual(Array(30).fill("omitted"));
});

test("a step said to be not done is still omitted", () => {
  const skipped = draft().without("seal-check").add("not_done", { step: "seal-check", reason: "no_time" }, 0);
  expect(skipped.found("seal-check/omitted")).toBe("G2");
});

test("hydrodissection left out for a posterior polar cataract is not omitted", () => {
  const event = { step: "hydrodissection", reason: "posterior_polar" };
  expect(draft().without("hydrodissection").add("not_done", event, 0).all()).toEqual([]);
});

test("hydrodissection left out for any other reason is omitted", () => {
  const event = { step: "hydrodissection", reason: "no_time" };
  expect(draft().without("hydrodissection").add("not_done", event, 0).found("hydrodissection/omitted")).toBe(
    "G2",
  );
});

test("a posterior polar cataract taken back makes hydrodissection due again", () => {
  const taken = draft()
    .without("hydrodissection")
    .add("not_done", { step: "hydrodissection", reason: "posterior_polar", id: "polar" }, 0)
    .add("correct", { corrects: "polar", void: true }, 1);
  expect(taken.found("hydrodissection/omitted")).toBe("G2");
});

test.each(["topical", "general"])("no block is due under %s anaesthesia", (anaesthesia) => {
  const other = draft();
  other.plan.anaesthesia = anaesthesia;
  expect(other.all()).toEqual([]);
});

test("the eye before a block is due where a block is planned", () => {
  const block = draft();
  block.plan.anaesthesia = "block";
  expect(block.found("block-eye/omitted")).toBe("G2");
});

const DYE = { dye: "trypan_blue", strength_ug_ml: 600, volume_ul: 500, in_eye: true, ...HELD };

test("dye is due with a poor red reflex, and met only in the eye", () => {
  const poor = draft();
  poor.plan.red_reflex = "poor";
  expect(poor.found("dye/omitted")).toBe("G2");
  const at_ms = poor.at("main-wound") + 1000;
  expect(poor.record("dye", { ...DYE, in_eye: false }, at_ms).found("dye/omitted")).toBe("G2");
  expect(poor.record("dye", DYE, at_ms).found("dye/omitted")).toBeUndefined();
});

test("dye is not due where the planned lens bars it", () => {
  const barred = draft();
  barred.plan.red_reflex = "poor";
  barred.plan.lens.dry_state_hydrophilic = true;
  expect(barred.all()).toEqual([]);
});

test("another dye of the unit is not barred by the planned lens", () => {
  const other = draft();
  other.plan.red_reflex = "poor";
  other.plan.lens.dry_state_hydrophilic = true;
  other.unit = { dyes: { brilliant: { max_ug: 100 } }, dye: "brilliant" };
  expect(other.found("dye/omitted")).toBe("G2");
});

test("an antibiotic drawn up but not in the eye leaves the step omitted", () => {
  expect(draft().change("intracameral-drug", { in_eye: false }).found("intracameral-drug/omitted")).toBe(
    "G3",
  );
});

test("no antibiotic is due where allergies bar every drug of the unit", () => {
  const barred = draft()
    .change("allergies", { allergies: ["penicillin_severe", "fluoroquinolone"] })
    .without("drug-check", "intracameral-drug");
  expect(barred.all()).toEqual([]);
});

test("an antibiotic is due where allergies bar only some drugs of the unit", () => {
  const some = draft()
    .change("allergies", { allergies: ["penicillin_severe"] })
    .without("drug-check", "intracameral-drug");
  expect(some.all()).toEqual(["drug-check/omitted G2", "intracameral-drug/omitted G3"]);
});

test("no lens box is due where no lens was placed, by the last record of it", () => {
  const none = draft().without("lens-box").change("lens-placed", { site: "none" });
  expect(none.all()).toEqual([]);
  none.record("lens-placed", { ...LENS, site: "bag" }, none.at("lens-placed") + 1000);
  expect(none.found("lens-box/omitted")).toBe("G3");
});

test.each([
  ["syringe-labels", "labelled"],
  ["washout", "front"],
  ["washout", "behind"],
  ["sign-out", "operation"],
  ["sign-out", "lens"],
  ["sign-out", "drug"],
  ["sign-out", "problems"],
  ["sign-out", "aftercare"],
])("%s with %s false is omitted", (step, field) => {
  expect(
    draft()
      .change(step, { [field]: false })
      .found(`${step}/omitted`),
  ).toBe("G2");
});

test("a part of sign-out that was not said counts as false", () => {
  expect(draft().change("sign-out", { aftercare: undefined }).found("sign-out/omitted")).toBe("G2");
});

test("syringe labels that nobody spoke of count as there", () => {
  expect(draft().change("syringe-labels", { labelled: undefined }).all()).toEqual([]);
});

test("the last record decides whether an answer was left false", () => {
  const twice = draft().change("washout", { behind: false });
  twice.record("washout", { front: true, behind: true }, twice.at("washout") + 1000);
  expect(twice.all()).toEqual([]);
});

test.each(["review", "pressure_plan", "retina", "patient_told"])(
  "aftercare of a tear without %s is omitted, and only after a tear",
  (part) => {
    const value = { review: true, pressure_plan: true, retina: true, patient_told: true, [part]: false };
    const at_ms = draft().at("sign-out") + 30_000;
    expect(draft().tear().record("tear-aftercare", value, at_ms).found("tear-aftercare/omitted")).toBe("G2");
    expect(draft().record("tear-aftercare", value, at_ms).all()).toEqual([]);
  },
);

test.each([
  "tear-hold",
  "vitrectomy-mode",
  "new-lens-plan",
  "wounds-swept",
  "wound-suture",
  "tear-aftercare",
])("%s is due after a tear", (step) => {
  const torn = draft().tear();
  torn.events = torn.events.filter((event) => event["step"] !== step);
  expect(torn.found(`${step}/omitted`)).toBe("G2");
});

test("any record that says torn opens the branch, also where a later one says intact", () => {
  const torn = draft();
  torn.record("posterior-capsule", { state: "torn" }, torn.at("posterior-capsule") - 1000);
  expect(torn.found("tear-hold/omitted")).toBe("G2");
});

function leaks(count: number) {
  const leaking = draft();
  const at_ms = leaking.at("wound-hydration") + 1000;
  for (let at = 0; at < count; at += 1) leaking.record("seal-check", { state: "leak" }, at_ms + at);
  return leaking;
}

test("one leak asks for no suture, two do", () => {
  expect(leaks(1).all()).toEqual([]);
  expect(leaks(2).all()).toEqual(["wound-suture/omitted G2"]);
});

test("one leak asks for a suture where a main wound is over 3,000 um", () => {
  expect(leaks(1).change("main-wound", { width_um: 3000 }).all()).toEqual([]);
  expect(leaks(1).change("main-wound", { width_um: 3001 }).found("wound-suture/omitted")).toBe("G2");
  expect(leaks(0).change("main-wound", { width_um: 3001 }).found("wound-suture/omitted")).toBeUndefined();
});

test("the 3,000 um of the suture question are fixed, whatever the unit's own range is", () => {
  const wide = leaks(1).change("main-wound", { width_um: 3001 });
  wide.unit = { main_wound_um: [1000, 5000] };
  expect(wide.all()).toEqual(["wound-suture/omitted G2"]);
});

test("the suture question is answered by its own step or by sutures at the hydration, 0 included", () => {
  const at_ms = draft().at("wound-hydration") + 2000;
  expect(leaks(2).record("wound-suture", { sutures: 0 }, at_ms).all()).toEqual([]);
  expect(leaks(2).record("wound-hydration", { sutures: 0 }, at_ms).all()).toEqual([]);
});

test("another medicine and the list's debrief are never due", () => {
  const codes = [...draft().judged().steps];
  expect(codes).not.toContain("other-medicine");
  expect(codes).not.toContain("list-debrief");
});

test("the steps due or recorded are those with a chance to deviate", () => {
  expect(draft().judged().steps).toEqual(new Set(draft().events.map(({ id }) => id)));
  const debrief = draft().record("list-debrief", { change: "start earlier" }, 0);
  expect(debrief.judged().steps.has("list-debrief")).toBe(true);
  expect(debrief.all()).toEqual([]);
});

test("the sign-off screen leaves out the surgeon's own step", () => {
  const unsigned = draft().without("surgeon-sign-off");
  expect(unsigned.all({ withoutSignOff: true })).toEqual([]);
  expect(unsigned.all()).toEqual(["surgeon-sign-off/omitted G2"]);
});
