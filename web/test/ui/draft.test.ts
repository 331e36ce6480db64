/** A value entered by hand: nothing chosen before it is tapped, nothing impossible stored. */
import { expect, test } from "vitest";

import { draftOf, isDay, pressed, readDraft, type Draft } from "../../src/ui/model/draft.ts";
import { EMPTY_LENS, powerOf, stillToRead, withDigit } from "../../src/ui/model/lensReading.ts";
import { stepOf } from "./steps.ts";

const EMPTY: Draft = { typed: {}, chosen: {}, isChain: false, stages: [] };

test("a new record begins with the numbers of a measure and with nothing chosen", () => {
  const rhexis = draftOf(stepOf("rhexis"), { diameter_um: 5000, continuous: true }, false);
  expect([rhexis.typed, rhexis.chosen]).toEqual([{ diameter_um: "5.0" }, {}]);
  expect(draftOf(stepOf("allergies"), { allergies: ["none"] }, false)).toEqual(EMPTY);
  expect(draftOf(stepOf("drug-check"), { drug: "cefuroxime", strength_ug_ml: 10_000 }, false)).toEqual(EMPTY);
});

test("a correction begins with the record as it stands, and reads back as the same value", () => {
  const chain = {
    drug: "cefuroxime",
    volume_ul: 100,
    vial_ug: 750_000,
    diluent_ul: 7500,
    then: [{ take_ul: 1000, add_ul: 9000 }],
  };
  const step = stepOf("drug-check");
  expect(readDraft(step, draftOf(step, chain, true), [])).toEqual({ value: chain, missing: [], refused: {} });
});

test("what is required and not entered is named", () => {
  expect(readDraft(stepOf("sign-out"), EMPTY, []).missing).toHaveLength(5);
  expect(readDraft(stepOf("rhexis"), EMPTY, []).missing).toEqual(["Largest diameter", "Edge continuous?"]);
});

test("an impossible number is refused in one line that names field, what was typed and what is possible", () => {
  const draft = { ...EMPTY, typed: { width_um: "0,4" } };
  const { value, refused } = readDraft(stepOf("main-wound"), draft, []);
  expect(value).toEqual({});
  expect(refused).toEqual({
    width_um: "Width: 0,4 mm was typed. Possible: 1.0 to 7.0 mm in steps of 0.1. Nothing is stored.",
  });
});

test("a tenfold dose is possible and is not refused", () => {
  const draft = { ...EMPTY, typed: { drug: "cefuroxime", strength_ug_ml: "100", volume_ul: "0.1" } };
  expect(readDraft(stepOf("drug-check"), draft, []).refused).toEqual({});
});

test("counts are read for each category, and an empty count is no count", () => {
  const step = stepOf("opening-count");
  const typed = { "items.sharps": "4", "items.swabs": "" };
  expect(readDraft(step, { ...EMPTY, typed }, ["sharps", "swabs"]).value).toEqual({ items: { sharps: 4 } });
  expect(readDraft(step, EMPTY, ["sharps", "swabs"]).missing).toEqual(["On the tray"]);
});

test("half a dilution is no dilution", () => {
  const typed = { drug: "cefuroxime", volume_ul: "0.1", vial_ug: "750", diluent_ul: "7.5" };
  const draft = { ...EMPTY, typed, isChain: true, stages: [{ take_ul: "1", add_ul: "" }] };
  expect(Object.keys(readDraft(stepOf("drug-check"), draft, []).refused)).toEqual(["then"]);
});

test("one press moves by the unit's step, from a start where nothing is typed", () => {
  expect(pressed("2.2", "width_um", 1, 1000)).toBe("2.3");
  expect(pressed("", "width_um", 1, 1000)).toBe("1.0");
  expect(pressed("0.1", "volume_ul", -1, 0)).toBe("0.05");
});

test.each([
  ["2028-02-29", true],
  ["2027-02-29", false],
  ["2027-13-01", false],
  ["27-01-01", false],
])("%s is a day: %s", (text, expected) => {
  expect(isDay(text)).toBe(expected);
});

test("a lens is read in four pieces, and its sign is never taken for granted", () => {
  const model = { ...EMPTY_LENS, model: "AURA-1" };
  const digits = withDigit(withDigit(model, "2"), "1");
  expect(stillToRead({ ...digits, quarter: 50 })).toEqual(["sign"]);
  expect(powerOf({ ...digits, quarter: 50 })).toBeNull();
  expect(powerOf({ ...digits, quarter: 50, sign: "-" })).toBe(-2150);
  expect(powerOf({ ...digits, quarter: 0, sign: "+" })).toBe(2100);
});

test("a third digit begins anew", () => {
  expect(["2", "1", "8"].reduce(withDigit, EMPTY_LENS).digits).toBe("8");
});
