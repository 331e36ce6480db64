/** STOP: which reading stops, what is shown of it, and what lets it pass. */
import { expect, test } from "vitest";

import type { JsonObject } from "../../src/core/json.ts";
import { blocksOf, powerColumns, stopViewOf, type StopView } from "../../src/ui/model/stopView.ts";
import { pendingStop, readingBeforeInjection, withKeptReason } from "../../src/ui/model/stops.ts";
import type { DraftCase } from "../support/draftCase.ts";
import { draft, opened, stepOf } from "./steps.ts";

/** The clean case up to the record that is read, with another value there. */
function reading(step: string, value: JsonObject): DraftCase {
  const drafted = draft();
  drafted.events = drafted.events.slice(0, drafted.events.findIndex(({ id }) => id === step) + 1);
  return drafted.change(step, value);
}

function viewOf(drafted: DraftCase): StopView | null {
  const open = opened(drafted);
  const stop = pendingStop(open);
  if (stop === null) return null;
  const { entry, step } = stop;
  const ledger = open.ledger.filter(({ id }) => id !== entry.id);
  const { protocol, unit, view } = open;
  return stopViewOf(stop, {
    protocol,
    step,
    value: entry.value,
    at_ms: entry.at_ms,
    plan: view.caseFile.plan,
    ledger,
    unit,
  });
}

test("a clean reading does not stop", () => {
  expect(pendingStop(opened(reading("lens-box", {})))).toBeNull();
});

test.each<readonly [string, JsonObject, string]>([
  ["patient-identity", { match: false }, "Patient does not match"],
  ["marked-eye", { eye: "left" }, "The eye differs"],
  ["lens-plan", { power_cdpt: -2150 }, "Reading and plan differ"],
  ["lens-box", { power_cdpt: 2050 }, "Box and plan differ"],
  ["lens-box", { expiry: "2026-11-23" }, "The box is past its date"],
  ["drug-check", { strength_ug_ml: 100_000 }, "Ten times the planned dose"],
  ["drug-check", { drug: "moxifloxacin" }, "Two times the planned dose"],
  ["drug-check", { drug: "vancomycin" }, "Vancomycin is not for inside the eye"],
  ["wound-hydration", { syringe_label: "gentamicin" }, "The syringe label differs"],
  [
    "intracameral-drug",
    { drug: "moxifloxacin", strength_ug_ml: 5000, in_eye: false },
    "Not the planned drug",
  ],
])("%s with %o stops: %s", (step, value, line) => {
  expect(viewOf(reading(step, value))?.line).toBe(line);
});

test("iodine against a recorded allergy stops", () => {
  const drafted = reading("antiseptic", {}).change("allergies", { allergies: ["iodine"] });
  expect(viewOf(drafted)?.line).toBe("Barred by iodine allergy");
});

test("the alternative that an allergy asks for does not stop", () => {
  const drafted = reading("intracameral-drug", { drug: "moxifloxacin", strength_ug_ml: 5000 });
  drafted
    .change("allergies", { allergies: ["cephalosporin"] })
    .change("drug-check", { drug: "moxifloxacin", strength_ug_ml: 5000 });
  expect(viewOf(drafted)).toBeNull();
});

test("cefuroxime with a mild penicillin allergy stops at its check unless the surgeon said yes aloud", () => {
  const checked = (accepted: boolean) =>
    reading("drug-check", { allergy_accepted: accepted }).change("allergies", {
      allergies: ["penicillin_mild"],
    });
  expect(viewOf(checked(true))).toBeNull();
  expect(viewOf(checked(false))?.line).toBe("Mild allergy, not yet accepted aloud");
});

test("an allergy that is recorded after the drug was checked stops at once", () => {
  const drafted = reading("drug-check", {});
  const later = drafted.at("drug-check") + 1000;
  expect(viewOf(drafted.record("allergies", { allergies: ["cephalosporin"] }, later))?.line).toContain(
    "Antibiotic",
  );
});

test("a reading that was kept, taken back or corrected does not stop again", () => {
  const wrong = () => reading("lens-box", { power_cdpt: 2050 });
  const later = wrong().at("lens-box") + 1000;
  const value = {
    model: "AURA-1",
    power_cdpt: 2050,
    kept_because: "plan was changed aloud",
    kept_by: "surgeon",
  };
  const right = { model: "AURA-1", power_cdpt: 2150 };
  for (const correction of [{ value }, { value: right }, { void: true }]) {
    expect(
      pendingStop(opened(wrong().add("correct", { corrects: "lens-box", ...correction }, later))),
    ).toBeNull();
  }
});

test("a second reading that differs stops as well", () => {
  const drafted = reading("lens-box", { power_cdpt: 2050 });
  const again = drafted.record(
    "lens-box",
    { model: "AURA-1", power_cdpt: 2050 },
    drafted.at("lens-box") + 5000,
  );
  expect(viewOf(again)?.line).toBe("Box and plan differ");
});

const DOSE = { drug: "cefuroxime", strength_ug_ml: 100_000, volume_ul: 100 };

test("a dose that would stop is stored as read before it is injected", () => {
  const open = opened(reading("seal-check", {}));
  const step = stepOf("intracameral-drug");
  expect(readingBeforeInjection(open, step, DOSE)).toEqual({ ...DOSE, in_eye: false });
  expect(readingBeforeInjection(open, step, { ...DOSE, strength_ug_ml: 10_000 })).toBeNull();
});

test("what was kept at STOP is given with the same reason and does not stop a second time", () => {
  const kept = { kept_because: "surgeon decided on it", kept_by: "surgeon" };
  const drafted = reading("seal-check", {});
  drafted.record("intracameral-drug", { ...DOSE, in_eye: false, ...kept }, drafted.at("seal-check") + 1000);
  const open = opened(drafted);
  const step = stepOf("intracameral-drug");
  expect(readingBeforeInjection(open, step, DOSE)).toBeNull();
  expect(withKeptReason(open, step, DOSE)).toEqual({ ...DOSE, ...kept });
  expect(withKeptReason(open, step, { ...DOSE, volume_ul: 50 })).toEqual({ ...DOSE, volume_ul: 50 });
});

test("digits stand one under the other, and the sign counts as one", () => {
  const differing = (read: number, plan: number) =>
    powerColumns(read, plan).flatMap(({ differs }, column) => (differs ? [column] : []));
  expect(differing(2150, 2250)).toEqual([2]);
  expect(differing(-2150, 2150)).toEqual([0]);
  expect(differing(950, 2150)).toEqual([1, 2]);
});

test("ten times the dose is ten blocks, and half a dose half a block", () => {
  expect(blocksOf({ numerator: 10_000n, denominator: 1n }, 1000, 10)).toHaveLength(10);
  expect(blocksOf({ numerator: 500n, denominator: 1n }, 1000, 10)).toEqual([0.5]);
  expect(blocksOf({ numerator: 50_000n, denominator: 1n }, 1000, 10)).toHaveLength(10);
});
