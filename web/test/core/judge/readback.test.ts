/** Kind `readback_mismatch`: what was read against its reference, and whether it was put right. */
import { expect, test } from "vitest";

import { daysOf } from "../../../src/core/judge/readback.ts";
import { HELD, LENS, draft } from "../../support/draftCase.ts";

const KIND = "readback_mismatch";
const OTHER = { model: "AURA-1", power_cdpt: 2200 };

test("a mismatch that is kept is G3; put right at the same step it is G2 and caught", () => {
  const wrong = draft().change("patient-identity", { match: false });
  expect(wrong.found(`patient-identity/${KIND}`)).toBe("G3");
  wrong.record("patient-identity", { match: true }, wrong.at("patient-identity") + 1);
  expect(wrong.found(`patient-identity/${KIND}`)).toBe("G2 caught");
});

test("right first and wrong last is kept", () => {
  const last = draft();
  last.record("marked-eye", { eye: "left" }, last.at("marked-eye") + 1);
  expect(last.found(`marked-eye/${KIND}`)).toBe("G3");
});

test("identity without the word that it matches counts as not matching", () => {
  expect(draft().change("patient-identity", { match: undefined }).found(`patient-identity/${KIND}`)).toBe(
    "G3",
  );
});

test("a slip that was corrected is no mismatch", () => {
  const slip = draft().change("marked-eye", { eye: "left" });
  slip.add("correct", { corrects: "marked-eye", value: { eye: "right" } }, slip.at("marked-eye") + 1);
  expect(slip.all()).toEqual([]);
});

test("time out and block are read against the last marked eye, not against the plan", () => {
  const left = draft().change("marked-eye", { eye: "left" });
  expect(left.found(`time-out/${KIND}`)).toBe("G3");
  left.change("time-out", { eye: "left" });
  left.record("block-eye", { eye: "left" }, left.at("antiseptic"));
  expect(left.all()).toEqual([`marked-eye/${KIND} G3`]);
});

test("the last marked eye decides also for what was read before it", () => {
  const later = draft();
  later.record("marked-eye", { eye: "left" }, later.at("sign-out"));
  expect(later.found(`time-out/${KIND}`)).toBe("G3");
});

test("without a marked eye the plan is the reference; a marked eye that says no eye leaves it unjudged", () => {
  const none = draft().without("marked-eye").change("time-out", { eye: "left" });
  expect(none.found(`time-out/${KIND}`)).toBe("G3");
  const empty = draft().change("marked-eye", { eye: undefined }).change("time-out", { eye: "left" });
  expect(empty.found(`time-out/${KIND}`)).toBeUndefined();
});

test("a record without an eye is passed over when asking whether the last one agrees", () => {
  const wrong = draft().change("time-out", { eye: "left" });
  wrong.record("time-out", {}, wrong.at("time-out") + 1);
  expect(wrong.found(`time-out/${KIND}`)).toBe("G3");
});

test.each([
  [{ power_cdpt: -2150 }, "G3"],
  [{ power_cdpt: 2151 }, "G3"],
  [{ model: "AURA-1 " }, "G3"],
  [{ model: "aura-1" }, "G3"],
  [{ model: undefined }, undefined],
  [{ power_cdpt: undefined }, undefined],
])("lens plan read as %j against the plan: %s", (changes, grade) => {
  expect(draft().change("lens-plan", changes).found(`lens-plan/${KIND}`)).toBe(grade);
});

test("lens box must equal the plan and the lens plan read aloud before it", () => {
  const box = draft().change("lens-box", OTHER);
  expect(box.found(`lens-box/${KIND}`)).toBe("G3");
  const both = draft().change("lens-box", OTHER).change("lens-plan", OTHER);
  expect(both.found(`lens-box/${KIND}`)).toBe("G3");
  const spoken = draft().change("lens-plan", OTHER);
  expect(spoken.found(`lens-box/${KIND}`)).toBe("G3");
});

test("a lens plan read aloud after the box does not count for it, one at the same time does", () => {
  const at_ms = draft().at("lens-box");
  const later = (plan_ms: number) => draft().record("lens-plan", OTHER, plan_ms).found(`lens-box/${KIND}`);
  expect(later(at_ms + 1)).toBeUndefined();
  expect(later(at_ms)).toBe("G3");
});

test("a new lens plan in force is the only reference", () => {
  const at_ms = draft().at("lens-box");
  const box = (plan_ms: number) =>
    draft()
      .change("lens-box", OTHER)
      .record("new-lens-plan", { ...OTHER, site: "sulcus" }, plan_ms)
      .found(`lens-box/${KIND}`);
  expect(box(at_ms)).toBeUndefined();
  expect(box(at_ms + 1)).toBe("G3");
  const stale = draft().record("new-lens-plan", { ...OTHER, site: "sulcus" }, at_ms);
  expect(stale.found(`lens-box/${KIND}`)).toBe("G3");
});

test("of several new lens plans the last before the box is in force", () => {
  const box = draft().record("new-lens-plan", { ...OTHER, site: "sulcus" }, draft().at("rhexis"));
  box.record("new-lens-plan", { ...LENS, site: "bag" }, box.at("rhexis") + 1);
  expect(box.found(`lens-box/${KIND}`)).toBeUndefined();
});

test("a new lens plan that lacks the power leaves the box unjudged", () => {
  const box = draft().change("lens-box", OTHER);
  box.record("new-lens-plan", { model: "AURA-1", site: "bag" }, box.at("rhexis"));
  expect(box.found(`lens-box/${KIND}`)).toBeUndefined();
});

test("a lens plan that lacks the power is no reference", () => {
  expect(draft().change("lens-plan", { power_cdpt: undefined }).found(`lens-box/${KIND}`)).toBeUndefined();
});

test("a box is expired before the UTC day of its own time, and good on that day", () => {
  const box = (expiry: string) => draft().change("lens-box", { expiry }).found(`lens-box/${KIND}`);
  expect(box("2026-11-23")).toBe("G3");
  expect(box("2026-11-24")).toBeUndefined();
  expect(box("2026-11-25")).toBeUndefined();
});

test("the day of the box is the UTC day at its last and its first millisecond", () => {
  const at = (at_ms: number) =>
    draft().change("lens-box", { expiry: "2026-11-24" }).move("lens-box", at_ms).found(`lens-box/${KIND}`);
  expect(at(Date.UTC(2026, 10, 25) - 1)).toBeUndefined();
  expect(at(Date.UTC(2026, 10, 25))).toBe("G3");
});

test("an expired box is told also where its lens cannot be compared", () => {
  const box = draft().change("lens-box", { model: undefined, expiry: "2020-01-01" });
  expect(box.found(`lens-box/${KIND}`)).toBe("G3");
});

test.each([
  ["1970-01-01", 0],
  ["1969-12-31", -1],
  ["2000-02-29", 11_016],
  ["2000-03-01", 11_017],
  ["1900-03-01", -25_508],
  ["0001-01-01", -719_162],
  ["9999-12-31", 2_932_896],
])("%s is %i days from 1970", (day, days) => {
  expect(daysOf(day)).toBe(days);
});

test("dye is read against the unit's dye, in the eye or not", () => {
  const dye = (name: string, in_eye: boolean) =>
    draft()
      .record("dye", { dye: name, strength_ug_ml: 600, in_eye, ...HELD }, draft().at("main-wound") + 1)
      .found(`dye/${KIND}`);
  expect(dye("trypan_blue", true)).toBeUndefined();
  expect(dye("methylene_blue", true)).toBe("G3");
  expect(dye("methylene_blue", false)).toBe("G3");
});

test("the syringe of the hydration is read against balanced salt; without a label it is passed over", () => {
  const label = (syringe_label: string | undefined) => draft().change("wound-hydration", { syringe_label });
  expect(label("gentamicin").found(`wound-hydration/${KIND}`)).toBe("G3");
  expect(label(undefined).found(`wound-hydration/${KIND}`)).toBeUndefined();
  const again = label("gentamicin");
  again.record("wound-hydration", HELD, again.at("wound-hydration") + 1);
  expect(again.found(`wound-hydration/${KIND}`)).toBe("G3");
});

test("keeping a mismatch with a reason does not change its grade", () => {
  const kept = draft().change("marked-eye", {
    eye: "left",
    kept_because: "list is wrong",
    kept_by: "surgeon",
  });
  expect(kept.found(`marked-eye/${KIND}`)).toBe("G3");
});
