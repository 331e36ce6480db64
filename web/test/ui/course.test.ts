/** The course of a case: what is asked now, what comes next, and where branches appear. */
import { expect, test } from "vitest";

import { courseOf, orderOfAsking, type Asked } from "../../src/ui/model/course.ts";
import type { DraftCase } from "../support/draftCase.ts";
import { draft, opened, protocol, START_MS } from "./steps.ts";

const IN_ROOM = { moment: "patient_in" };

function askedIn(
  drafted: DraftCase,
  postponed: readonly string[] = [],
  byHand: string | null = null,
): string {
  const { ledger, due } = opened(drafted);
  return nameOf(courseOf({ protocol, ledger, due, opened: byHand, postponed: new Set(postponed) }).asked);
}

function nameOf(asked: Asked): string {
  if (asked.kind === "step") return asked.step.step;
  return asked.kind === "room" ? asked.moment : "end";
}

/** The clean case up to and with `step`, the patient in the room. */
function upTo(step: string): DraftCase {
  const drafted = draft();
  const last = drafted.events.findIndex(({ id }) => id === step);
  drafted.events = drafted.events.slice(0, last + 1);
  return drafted.add("room", IN_ROOM, START_MS);
}

test("opening a case asks first whether the patient is in the room", () => {
  const drafted = draft();
  drafted.events = [];
  expect(askedIn(drafted)).toBe("patient_in");
});

test("'not yet' asks for the first steps, and again when sign-in begins", () => {
  const drafted = draft();
  drafted.events = [];
  expect(askedIn(drafted, ["patient_in"])).toBe("team-brief");
  drafted.events = draft().events.slice(0, 2);
  expect(askedIn(drafted, ["patient_in"])).toBe("patient_in");
  expect(askedIn(drafted, ["patient_in", "patient_in again"])).toBe("patient-identity");
});

test("the step after the last recorded one is asked, though one before it is blank", () => {
  const drafted = upTo("main-wound").without("opening-count");
  const { ledger, due } = opened(drafted);
  const course = courseOf({ protocol, ledger, due, opened: null, postponed: new Set() });
  expect([nameOf(course.asked), nameOf(course.next), course.blankBefore]).toEqual([
    "viscoelastic-fill",
    "rhexis",
    1,
  ]);
});

test("a blank step does not hold the end up, and is counted there", () => {
  const drafted = upTo("sign-out").add("room", { moment: "patient_out" }, START_MS).without("rhexis");
  const { ledger, due } = opened(drafted);
  const course = courseOf({ protocol, ledger, due, opened: null, postponed: new Set() });
  expect([nameOf(course.asked), course.blankBefore]).toEqual(["end", 1]);
});

test("a step marked not done is passed", () => {
  const drafted = upTo("rhexis").add(
    "not_done",
    { step: "hydrodissection", reason: "no_time" },
    START_MS + 60_000_000,
  );
  expect(askedIn(drafted)).toBe("ultrasound-mode");
});

test("a record that was taken back is asked again", () => {
  expect(
    askedIn(upTo("rhexis").add("correct", { corrects: "rhexis", void: true }, START_MS + 60_000_000)),
  ).toBe("rhexis");
});

test("after sign-out the patient leaves, then the surgeon signs", () => {
  expect(askedIn(upTo("sign-out"))).toBe("patient_out");
  expect(askedIn(upTo("sign-out").add("room", { moment: "patient_out" }, START_MS))).toBe("end");
});

test("a step opened by hand is asked, recorded or not", () => {
  expect(askedIn(upTo("rhexis"), [], "main-wound")).toBe("main-wound");
  expect(askedIn(upTo("rhexis"), [], "other-medicine")).toBe("other-medicine");
});

test("the block is asked only where the plan has one, the dye only with a poor red reflex", () => {
  const steps = (drafted: DraftCase) => {
    const { ledger, due } = opened(drafted);
    return courseOf({ protocol, ledger, due, opened: null, postponed: new Set() }).items.map(
      ({ step }) => step.step,
    );
  };
  const drafted = draft();
  expect(steps(drafted).filter((step) => step === "block-eye" || step === "dye")).toEqual([]);
  Object.assign(drafted.plan, { anaesthesia: "block", red_reflex: "poor" });
  expect(steps(drafted).filter((step) => step === "block-eye" || step === "dye")).toEqual([
    "block-eye",
    "dye",
  ]);
});

test("a torn capsule asks for its own steps before the lens, the suture before the last look, aftercare before the count", () => {
  const order = orderOfAsking(protocol).map(({ step }) => step);
  const between = (first: string, last: string) => order.slice(order.indexOf(first) + 1, order.indexOf(last));
  expect(between("posterior-capsule", "viscoelastic-bag")).toEqual([
    "tear-hold",
    "vitrectomy-mode",
    "new-lens-plan",
  ]);
  expect(between("other-medicine", "closing-count")).toEqual([
    "wounds-swept",
    "wound-suture",
    "final-look",
    "tear-aftercare",
  ]);
  expect(askedIn(upTo("posterior-capsule").change("posterior-capsule", { state: "torn" }))).toBe("tear-hold");
});

test("a drug that is only drawn up is still to be given", () => {
  const drafted = upTo("intracameral-drug").change("intracameral-drug", { in_eye: false });
  expect(askedIn(drafted)).toBe("intracameral-drug");
});
