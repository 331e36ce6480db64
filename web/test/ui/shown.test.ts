/** Quantities, records and settings as words. */
import { expect, test } from "vitest";

import { chainOf, doseOf, massText, strengthText, timesText } from "../../src/ui/format/dose.ts";
import { dioptres, quantity } from "../../src/ui/format/quantities.ts";
import { recordText } from "../../src/ui/format/recordText.ts";
import { span, timeOfDay } from "../../src/ui/format/times.ts";
import type { JsonObject } from "../../src/core/json.ts";
import { stepOf } from "./steps.ts";

/** No-break blanks are shown as blanks, so that the rows below can be read. */
const plain = (text: string) => text.replaceAll("\u00a0", " ");

test.each([
  [2200, "width_um", "2.2 mm"],
  [5000, "diameter_um", "5.0 mm"],
  [250, "overlap_um", "0.25 mm"],
  [100, "volume_ul", "0.1 mL"],
  [9000, "add_ul", "9 mL"],
  [10_000, "strength_ug_ml", "10 mg/mL"],
  [600, "strength_ug_ml", "0.6 mg/mL"],
  [1000, "dose_ug", "1 mg"],
  [500, "dose_ug", "0.5 mg"],
  [150, "contact_s", "2.5 min"],
  [35_000, "flow_ul_min", "35 mL/min"],
  [0, "sutures", "0"],
])("%i of %s is shown as %s", (whole, field, text) => {
  expect(plain(quantity(whole, field))).toBe(text);
});

test("a power always carries its sign and two decimals", () => {
  expect([2150, -225, 0].map((power) => plain(dioptres(power)))).toEqual([
    "+21.50 D",
    "\u22122.25 D",
    "+0.00 D",
  ]);
});

test("drug, strength, volume and mass stand together", () => {
  const value = { drug: "cefuroxime", strength_ug_ml: 10_000, volume_ul: 100 };
  expect(plain(recordText(stepOf("drug-check"), value))).toBe(
    "Antibiotic: Cefuroxime, 10 mg/mL, 0.1 mL, 1 mg",
  );
});

test("a two-step chain from 750 mg shows its strength after every stage", () => {
  const then = [{ take_ul: 1000, add_ul: 9000 }];
  const { stages } = chainOf({ vial_ug: 750_000, diluent_ul: 7500, then });
  expect(stages.map((stage) => plain(strengthText(stage)))).toEqual(["100 mg/mL", "10 mg/mL"]);
});

test("the forgotten second dilution is ten times the planned dose", () => {
  const mass = doseOf({ vial_ug: 750_000, diluent_ul: 7500, volume_ul: 100 });
  expect(mass && [plain(massText(mass)), timesText(mass, 1000)]).toEqual(["10 mg", "10"]);
});

test("a strength that has no end is said to be about so much", () => {
  expect(plain(strengthText(chainOf({ vial_ug: 1000, diluent_ul: 3000 })))).toBe("about 0.333 mg/mL");
});

test.each<readonly [string, JsonObject, string]>([
  ["main-wound", { width_um: 2200 }, "Main wound 2.2 mm"],
  ["viscoelastic-fill", { lock_checked: true, hub_held: false }, "Viscoelastic: hub not held"],
  [
    "viscoelastic-fill",
    { lock_checked: true, hub_held: true, detached: true, injury: false },
    "Viscoelastic: it came off, eye not injured",
  ],
  ["rhexis", { diameter_um: 4800, continuous: false }, "Capsulorhexis: 4.8 mm, edge ran out"],
  ["marked-eye", { eye: "left" }, "Which eye: left eye"],
  ["posterior-capsule", { state: "torn", vitreous: true }, "Capsule: torn, vitreous seen"],
  ["ultrasound-mode", { mode: "segment", vacuum_mmhg: 350 }, "Ultrasound: Segment, 350 mmHg"],
  ["opening-count", { items: { sharps: 4, swabs: 0, cannulas: 5 } }, "Opening count 4 sharps, 5 cannulas"],
  ["team-brief", {}, "Team brief"],
])("a record of %s with %o reads: %s", (step, value, words) => {
  expect(plain(recordText(stepOf(step), value))).toBe(words);
});

test("a span counts whole seconds and never goes below zero", () => {
  expect([span(0, 6_900), span(0, 725_000), span(0, 3_725_000), span(5, 0)]).toEqual([
    "0:06",
    "12:05",
    "1:02:05",
    "0:00",
  ]);
});

test("the time of day is the unit's, not the device's", () => {
  const at_ms = Date.UTC(2026, 6, 1, 23, 30);
  expect([timeOfDay(at_ms, "Europe/London"), timeOfDay(at_ms, "UTC")]).toEqual(["00:30", "23:30"]);
});
