/** Kind `hub_not_held`, the number of injections, and injections without the hub question. */
import { expect, test } from "vitest";

import { DOSE, HELD, draft } from "../../support/draftCase.ts";

const STEPS = [
  "viscoelastic-fill",
  "hydrodissection",
  "viscoelastic-bag",
  "wound-hydration",
  "intracameral-drug",
];

test.each(STEPS)("%s: lock, hub, detachment and injury", (step) => {
  const hub = (changes: { readonly [name: string]: boolean | undefined }) =>
    draft().change(step, changes).found(`${step}/hub_not_held`);
  expect(hub({ detached: false, injury: false })).toBeUndefined();
  expect(hub({ lock_checked: false })).toBe("G2");
  expect(hub({ lock_checked: undefined })).toBe("G2");
  expect(hub({ hub_held: false })).toBe("G2");
  expect(hub({ detached: true })).toBe("G3");
  expect(hub({ detached: true, lock_checked: false })).toBe("G3");
  expect(hub({ injury: true })).toBe("G4");
});

test("a clean case has five injections, and none without the question", () => {
  const { injections, hubEvents, hubNotAsked } = draft().judged();
  expect(injections).toEqual(new Map(STEPS.map((step) => [step, 1])));
  expect(hubEvents).toEqual(new Map());
  expect(hubNotAsked).toBe(0);
});

test("each injection earns its own grade, the deviation the highest", () => {
  const several = draft().change("viscoelastic-fill", { hub_held: false });
  const at_ms = several.at("viscoelastic-fill");
  for (const value of [{ ...HELD, injury: true }, { ...HELD, hub_held: false }, HELD]) {
    several.record("viscoelastic-fill", value, at_ms + 1);
  }
  const { injections, hubEvents } = several.judged();
  expect(injections.get("viscoelastic-fill")).toBe(4);
  expect(hubEvents).toEqual(
    new Map([
      ["viscoelastic-fill/G2", 2],
      ["viscoelastic-fill/G4", 1],
    ]),
  );
  expect(several.found("viscoelastic-fill/hub_not_held")).toBe("G4");
});

test.each(STEPS)("%s without the hub question is no injection and is counted as not asked", (step) => {
  const judged = draft().change(step, { hub_held: undefined, lock_checked: false, injury: true }).judged();
  expect(judged.deviations).toEqual([]);
  expect(judged.injections.has(step)).toBe(false);
  expect(judged.hubNotAsked).toBe(1);
});

test.each([
  ["a drug not in the eye", "intracameral-drug", { ...DOSE, in_eye: false }, 0],
  ["a dye not said to be in the eye", "dye", { dye: "trypan_blue" }, 0],
  ["a dye in the eye", "dye", { dye: "trypan_blue", in_eye: true }, 1],
  ["another medicine", "other-medicine", {}, 1],
  ["sutures alone", "wound-hydration", { sutures: 0 }, 0],
  ["sutures and a label", "wound-hydration", { sutures: 0, syringe_label: "balanced_salt" }, 1],
  ["sutures and the lock", "wound-hydration", { sutures: 2, lock_checked: true }, 1],
  ["a hydration of which nothing was said", "wound-hydration", {}, 1],
])("%s without the hub question: %s %j is counted %i times", (_name, step, value, count) => {
  expect(
    draft()
      .record(step, value, draft().at("main-wound") + 1)
      .judged().hubNotAsked,
  ).toBe(count);
});

test("an injection that did not go into the eye is none, and a dye goes in only where that was said", () => {
  const out = { in_eye: false, lock_checked: false, hub_held: false };
  const at_ms = draft().at("main-wound") + 1;
  expect(
    draft()
      .record("dye", { dye: "trypan_blue", ...out }, at_ms)
      .judged()
      .injections.has("dye"),
  ).toBe(false);
  const unsaid = { dye: "trypan_blue", lock_checked: false, hub_held: false };
  expect(draft().record("dye", unsaid, at_ms).found("dye/hub_not_held")).toBeUndefined();
  expect(
    draft()
      .record("dye", { ...unsaid, in_eye: true }, at_ms)
      .found("dye/hub_not_held"),
  ).toBe("G2");
});

test("a steroid counts as an injection too", () => {
  const steroid = { drug: "dexamethasone", hub_held: false, lock_checked: true };
  const other = draft().record("other-medicine", steroid, draft().at("seal-check"));
  expect(other.found("other-medicine/hub_not_held")).toBe("G2");
  expect(other.judged().injections.get("other-medicine")).toBe(1);
});

test("hub fields in the value of another step are not looked at", () => {
  expect(draft().change("main-wound", { hub_held: false, lock_checked: false }).all()).toEqual([]);
});
