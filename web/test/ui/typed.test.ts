/** Numbers as people type them, into whole base units. */
import { expect, test } from "vitest";

import { possibleRange, readTyped } from "../../src/ui/format/typed.ts";

const WOUND = { below: 1000, above: 7000, multiple_of: 100 };

test.each([
  ["2.2", "width_um", 2200],
  ["2,2", "width_um", 2200],
  ["2", "width_um", 2000],
  [" 0.1 ", "volume_ul", 100],
  ["0,12", "volume_ul", 120],
  ["750", "vial_ug", 750_000],
  ["-2.25", "power_cdpt", -225],
  ["\u22122,25", "power_cdpt", -225],
  ["+21.50", "power_cdpt", 2150],
  ["2.5", "contact_s", 150],
  ["350", "vacuum_mmhg", 350],
  ["35", "flow_ul_min", 35_000],
  ["4", "items.sharps", 4],
])("%s typed for %s is %i base units", (text, field, whole) => {
  expect(readTyped(text, field)).toEqual({ kind: "whole", whole });
});

test.each([
  ["", "empty"],
  ["abc", "not_a_number"],
  [".5", "not_a_number"],
  ["5.", "not_a_number"],
  ["1.2.3", "not_a_number"],
  ["1,000.5", "not_a_number"],
  ["1e3", "not_a_number"],
  ["2.2222", "too_fine"],
])("%o typed as a width is %s", (text, kind) => {
  expect(readTyped(text, "width_um").kind).toBe(kind);
});

test.each([
  ["0.9", "impossible"],
  ["1.0", "whole"],
  ["7.0", "whole"],
  ["7.1", "impossible"],
  ["2.25", "impossible"],
])("a width of %s mm is %s", (text, kind) => {
  expect(readTyped(text, "width_um", WOUND).kind).toBe(kind);
});

test("a third of a minute is no whole second", () => {
  expect(readTyped("0.333", "contact_s").kind).toBe("too_fine");
});

test("a dangerous strength is possible", () => {
  expect(readTyped("100", "strength_ug_ml", { below: 0, above: 500_000 })).toEqual({
    kind: "whole",
    whole: 100_000,
  });
});

test("what is possible is said in shown units, with its steps", () => {
  expect(possibleRange("width_um", WOUND)).toBe("1.0 to 7.0 mm in steps of 0.1");
  expect(possibleRange("power_cdpt", { below: -1000, above: 4000, multiple_of: 25 })).toBe(
    "\u221210.00 to +40.00 D in steps of 0.25",
  );
});
