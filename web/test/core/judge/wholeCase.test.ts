/** Kinds of the whole case: time, equipment, contamination, complication. */
import { expect, test } from "vitest";

import { HELD, draft } from "../../support/draftCase.ts";

const LAST = ["wound-hydration", "seal-check", "intracameral-drug", "final-look"];

test.each(LAST)("1,200 s from the first main wound to the last %s are within the limit", (step) => {
  const timed = (took_ms: number) => {
    const two = draft();
    two.events = [];
    two.record("main-wound", { width_um: 2200 }, 5000).record("main-wound", { width_um: 2200 }, 9000);
    return two
      .record(step, { state: "dry", tone: "normal", ...HELD }, 5000 + took_ms)
      .found("case/time_overrun");
  };
  expect(timed(1_200_000)).toBeUndefined();
  expect(timed(1_200_001)).toBe("G1");
});

test("the latest of the closing steps counts, in the eye or not", () => {
  const late = draft();
  late.record("intracameral-drug", { in_eye: false }, late.at("main-wound") + 1_200_001);
  expect(late.found("case/time_overrun")).toBe("G1");
});

test("other steps do not count for the time, and without a main wound there is none", () => {
  const late = draft().move("sign-out", draft().at("main-wound") + 9_000_000);
  expect(late.found("case/time_overrun")).toBeUndefined();
  const none = draft().without("main-wound");
  none.move("final-look", none.at("final-look") + 9_000_000);
  expect(none.found("case/time_overrun")).toBeUndefined();
});

test("the unit's own limit replaces the default", () => {
  const own = draft();
  const took_s = (own.at("final-look") - own.at("main-wound")) / 1000;
  own.unit = { time_limit_s: took_s };
  expect(own.found("case/time_overrun")).toBeUndefined();
  own.unit = { time_limit_s: took_s - 1 };
  expect(own.found("case/time_overrun")).toBe("G1");
});

test("each fault is a deviation of its own, with its id in the key", () => {
  const faults = draft()
    .add("fault", { stage: "before", id: "f1" }, 0)
    .add("fault", { stage: "during", text: "pump stopped", id: "f2" }, 0)
    .add("fault", { id: "f3" }, 0);
  expect(faults.all()).toEqual(["case/equipment/f1 G1", "case/equipment/f2 G2"]);
});

test("a breach is G3 where it reached the eye, else G2 and caught", () => {
  const breaches = draft()
    .add("breach", { reached_eye: true, id: "b1" }, 0)
    .add("breach", { reached_eye: false, id: "b2" }, 0)
    .add("breach", { id: "b3" }, 0);
  expect(["b1", "b2", "b3"].map((id) => breaches.found(`case/contamination/${id}`))).toEqual([
    "G3",
    "G2 caught",
    "G2 caught",
  ]);
});

test.each([
  ["capsule_tear", "G4"],
  ["vitreous_loss", "G4"],
  ["dropped_fragment", "G4"],
  ["wrong_eye", "G4"],
  ["wrong_patient", "G4"],
  ["zonule loss", "G3"],
  ["", "G3"],
  ["__proto__", "G3"],
  ["constructor", "G3"],
])("complication %j: %s", (what, grade) => {
  expect(draft().add("complication", { what, id: "c1" }, 0).found("case/complication/c1")).toBe(grade);
});

test("a complication without what it was is G3", () => {
  expect(draft().add("complication", { id: "c1" }, 0).found("case/complication/c1")).toBe("G3");
});

test("free text of a complication is not repeated in the deviation", () => {
  const text = draft().add("complication", { what: "patient A.B. moved", id: "c1" }, 0);
  expect(JSON.stringify(text.judged())).not.toContain("A.B.");
});

test("events of the case that were taken back say nothing", () => {
  const taken = draft();
  for (const type of ["fault", "breach", "complication"]) {
    taken.add(type, { id: type, stage: "during" }, 0).add("correct", { corrects: type, void: true }, 1);
  }
  expect(taken.all()).toEqual([]);
});

test("a capsulorhexis that is not continuous is G3, by its last record; not said counts as not continuous", () => {
  const edge = draft().change("rhexis", { continuous: false });
  expect(edge.found("rhexis/complication")).toBe("G3");
  expect(draft().change("rhexis", { continuous: undefined }).found("rhexis/complication")).toBe("G3");
  edge.record("rhexis", { diameter_um: 5000, continuous: true }, edge.at("rhexis") + 1);
  expect(edge.found("rhexis/complication")).toBeUndefined();
});

test("a torn capsule in any record is G4", () => {
  const torn = draft();
  torn.record("posterior-capsule", { state: "torn" }, torn.at("posterior-capsule") - 1);
  expect(torn.found("posterior-capsule/complication")).toBe("G4");
  expect(draft().change("posterior-capsule", { state: undefined }).all()).toEqual([]);
});
