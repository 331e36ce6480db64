/** The slabs of a step, and what an answer asks next. */
import { expect, test } from "vitest";

import type { JsonObject } from "../../src/core/json.ts";
import { answersOf, coversAll, isLensReading } from "../../src/ui/model/answers.ts";
import { followUpOf } from "../../src/ui/model/followUp.ts";
import { contextOf, events, protocol, stepOf } from "./steps.ts";

const plain = (text: string | undefined) => text?.replaceAll("\u00a0", " ");

function labels(code: string, ...recorded: (readonly [string, JsonObject])[]): (string | undefined)[] {
  const { first, others } = answersOf(contextOf(code, events(...recorded)));
  return [plain(first?.label), ...others.map(({ label }) => plain(label))];
}

test("neither eye is the common answer", () => {
  expect(labels("marked-eye")).toEqual([undefined, "Right eye", "Left eye"]);
});

test("near values stand as numbers beside the whole common answer", () => {
  expect(labels("rhexis")).toEqual(["5.0 mm, continuous", "4.8 mm", "5.2 mm", "5.5 mm", "Edge ran out"]);
});

test("the planned antibiotic comes first, with strength, volume and mass", () => {
  const { first } = answersOf(contextOf("drug-check"));
  expect([plain(first?.label), plain(first?.detail)]).toEqual([
    "Read: 10 mg/mL, 0.1 mL",
    "Cefuroxime, 1 mg in all",
  ]);
});

test("a drug barred by a recorded allergy is not offered, and the line says so", () => {
  const { first, note } = answersOf(
    contextOf("drug-check", events(["allergies", { allergies: ["cephalosporin"] }])),
  );
  expect(first?.value["drug"]).toBe("moxifloxacin");
  expect(note).toContain("Cefuroxime");
});

test("with an iodine allergy no antiseptic is the common answer", () => {
  expect(labels("antiseptic", ["allergies", { allergies: ["iodine"] }])).toEqual([undefined]);
  expect(plain(labels("antiseptic")[0])).toBe("3 min");
});

test("the closing count offers what was opened, and nothing before it was counted", () => {
  const recorded = events(["opening-count", { items: { sharps: 4, swabs: 2 } }]);
  expect(answersOf(contextOf("closing-count", recorded)).first?.value).toEqual({
    added: {},
    out: { sharps: 4, swabs: 2 },
  });
  expect(answersOf(contextOf("closing-count")).first).toBeNull();
});

test("after a new lens plan its place for the lens is the common answer", () => {
  const plan = { model: "AURA-3P", power_cdpt: 1850, site: "sulcus" };
  expect(labels("lens-placed", ["new-lens-plan", plan])).toEqual([
    "Sulcus",
    "In the bag",
    "Anterior chamber",
    "No lens",
  ]);
  expect(labels("lens-placed")[0]).toBe("In the bag");
});

test("a lens in the eye carries model and power from its box", () => {
  const box = { model: "AURA-3P", power_cdpt: -225 };
  expect(answersOf(contextOf("lens-placed", events(["lens-box", box]))).first?.value).toEqual({
    site: "bag",
    ...box,
  });
});

test("every reading of a lens is made piece by piece, the carried one is not", () => {
  const readings = protocol.steps.filter(isLensReading).map(({ step }) => step);
  expect(readings).toEqual(["lens-plan", "lens-box", "new-lens-plan"]);
});

test("no answer of any step has a field that the step does not know", () => {
  const unknown = protocol.steps.flatMap((step) => {
    const { first, others } = answersOf(contextOf(step.step));
    const fields = new Set(step.fields.map(({ name }) => name));
    return [first, ...others].flatMap((answer) =>
      Object.keys(answer?.value ?? {}).filter((name) => !fields.has(name)),
    );
  });
  expect(unknown).toEqual([]);
});

test("'Other' stands only where the slabs leave something to say", () => {
  const covered = [
    "patient-identity",
    "marked-eye",
    "viscoelastic-fill",
    "posterior-capsule",
    "syringe-labels",
  ];
  const open = ["main-wound", "rhexis", "wound-hydration", "seal-check", "final-look", "drug-check"];
  const covers = (code: string) => coversAll(stepOf(code), answersOf(contextOf(code)));
  expect([covered.map(covers), open.map(covers)]).toEqual([covered.map(() => true), open.map(() => false)]);
});

const HELD = { lock_checked: true, hub_held: true };
const DOSE = { drug: "cefuroxime", strength_ug_ml: 10_000, volume_ul: 100 };

test("an injection is never whole without the hub question", () => {
  const steps = protocol.steps.filter((step) => step.asks_hub);
  const asks = steps.map((step) => followUpOf(contextOf(step.step), {}, undefined)?.kind);
  expect(new Set(asks)).toEqual(new Set(["hub"]));
});

test("sutures alone and a drug that is only drawn up ask no hub", () => {
  expect(followUpOf(contextOf("wound-hydration"), { sutures: 1 }, undefined)).toBeNull();
  expect(followUpOf(contextOf("intracameral-drug"), { ...DOSE, in_eye: false }, undefined)).toBeNull();
});

test("a cannula that came off asks whether the eye was injured", () => {
  const question = followUpOf(contextOf("hydrodissection"), { ...HELD, detached: true }, "injury");
  expect(question?.choices.map(({ value }) => value["injury"])).toEqual([false, true]);
});

test("a mild penicillin allergy asks the surgeon's yes for cefuroxime, at the check alone", () => {
  const mild = events(["allergies", { allergies: ["penicillin_mild"] }]);
  expect(followUpOf(contextOf("drug-check", mild), DOSE, undefined)?.kind).toBe("accept");
  expect(followUpOf(contextOf("drug-check"), DOSE, undefined)).toBeNull();
  expect(followUpOf(contextOf("intracameral-drug", mild), DOSE, undefined)?.kind).toBe("hub");
});

test("a mode that is not for the step asks when it was noticed", () => {
  expect(followUpOf(contextOf("cortex-mode"), { mode: "segment" }, undefined)?.kind).toBe("noticed");
  expect(followUpOf(contextOf("cortex-mode"), { mode: "cortex" }, undefined)).toBeNull();
});

test("a torn capsule asks for vitreous", () => {
  const question = followUpOf(contextOf("posterior-capsule"), { state: "torn" }, "vitreous");
  expect(question?.choices.map(({ value }) => value)).toEqual([
    { state: "torn", vitreous: false },
    { state: "torn", vitreous: true },
  ]);
});
