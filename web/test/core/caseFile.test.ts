/** Case files: what is refused and where, de-duplication, corrections, what is kept unread. */
import { describe, expect, test } from "vitest";

import { read } from "../../src/core/caseFile.ts";
import { InvalidInput } from "../../src/core/errors.ts";
import type { Json } from "../../src/core/json.ts";
import { parse } from "../../src/core/strictJson.ts";
import { draft, protocol, type DraftCase } from "../support/draftCase.ts";

function whereOf(document: Json): string | null {
  try {
    read(parse(JSON.stringify(document)), protocol);
  } catch (error) {
    if (error instanceof InvalidInput) return error.where;
    throw error;
  }
  return null;
}

function where(change: (changed: DraftCase) => unknown): string | null {
  const changed = draft();
  change(changed);
  return whereOf(changed.file());
}

/** The place that is named when one event of this type and these members is all there is. */
function whereEvent(members: { readonly [name: string]: Json }): string | null {
  return where((changed) => {
    changed.events = [{ id: "e1", type: "x", at_ms: 0, entered_ms: 0, ...members }];
  });
}

describe("the file", () => {
  test.each<readonly [string, Json]>([
    ["case file", null],
    ["case file", []],
    ["protocol", { ...draft().file(), protocol: "phaco-cataract@2" }],
    ["protocol", { ...draft().file(), protocol: null }],
    ["case", { ...draft().file(), case: 1 }],
    ["case", { ...draft().file(), case: null }],
    ["events", { ...draft().file(), events: {} }],
    ["events", { plan: draft().plan }],
    ["plan", { events: [] }],
    ["unit", { ...draft().file(), unit: null }],
  ])("is refused at %s", (place, document) => {
    expect(whereOf(document)).toBe(place);
  });

  test("needs neither case, protocol nor unit", () => {
    const { plan, events } = draft();
    expect(whereOf({ plan, events })).toBeNull();
    expect(read(parse(JSON.stringify({ plan, events })), protocol).case).toBeNull();
  });

  test("may hold what this version does not know", () => {
    expect(whereOf({ ...draft().file(), theatre: null, more: [{ deep: 1 }] })).toBeNull();
  });
});

describe("the plan", () => {
  test.each(["eye", "anaesthesia", "red_reflex", "lens", "drug"] as const)("needs %s", (name) => {
    expect(where(({ plan }) => Reflect.deleteProperty(plan, name))).toBe(`plan.${name}`);
  });

  test.each(["model", "power_cdpt", "optic_um", "dry_state_hydrophilic"] as const)(
    "needs lens.%s",
    (name) => {
      expect(where(({ plan }) => Reflect.deleteProperty(plan.lens, name))).toBe(`plan.lens.${name}`);
    },
  );

  test("holds values of its lists alone", () => {
    expect(where((changed) => (changed.plan.eye = "both"))).toBe("plan.eye");
    expect(where((changed) => (changed.plan.anaesthesia = ""))).toBe("plan.anaesthesia");
    expect(where((changed) => (changed.plan.red_reflex = "fair"))).toBe("plan.red_reflex");
  });

  test("names a drug of the unit's list", () => {
    expect(where((changed) => (changed.plan.drug = "vancomycin"))).toBe("plan.drug");
    expect(where((changed) => (changed.plan.drug = "constructor"))).toBe("plan.drug");
    expect(
      where((changed) => {
        changed.unit = { drugs: { vancomycin: {} } };
      }),
    ).toBe("plan.drug");
  });
});

describe("the unit", () => {
  test.each<readonly [string, Json]>([
    ["unit.drugs", []],
    ["unit.drugs.a", { a: 1 }],
    ["unit.drugs.a.dose_ug", { a: { dose_ug: "1" } }],
    ["unit.drugs.a.barred_by", { a: { barred_by: ["pollen"] } }],
    ["unit.drugs.a.barred_by", { a: { barred_by: "iodine" } }],
  ])("is refused at %s", (place, drugs) => {
    expect(where((changed) => (changed.unit = { drugs }))).toBe(place);
  });

  test.each<readonly [string, { readonly [name: string]: Json }]>([
    ["unit.dyes.a", { dyes: { a: null } }],
    ["unit.dyes.a.max_ug", { dyes: { a: { max_ug: true } } }],
    ["unit.dye", { dye: 1 }],
    ["unit.modes", { modes: [] }],
    ["unit.modes", { modes: { sculpting: {} } }],
    ["unit.modes.sculpt", { modes: { sculpt: 1 } }],
    ["unit.modes.sculpt.vacuum_mmhg", { modes: { sculpt: { vacuum_mmhg: [1] } } }],
    ["unit.modes.sculpt.flow_ul_min", { modes: { sculpt: { flow_ul_min: "1" } } }],
    ["unit.main_wound_um", { main_wound_um: 2200 }],
    ["unit.rhexis_um", { rhexis_um: [1, 2, 3] }],
    ["unit.pressure_mmhg", { pressure_mmhg: [10, null] }],
    ["unit.overlap_um", { overlap_um: [250] }],
    ["unit.time_limit_s", { time_limit_s: null }],
    ["unit.late_s", { late_s: "60" }],
    ["unit.antiseptic_s", { antiseptic_s: {} }],
  ])("is refused at %s", (place, unit) => {
    expect(where((changed) => (changed.unit = unit))).toBe(place);
  });

  test("may hold names that this version does not know", () => {
    expect(where((changed) => (changed.unit = { trays: null }))).toBeNull();
  });
});

describe("an event", () => {
  test.each([
    ["id", undefined],
    ["id", ""],
    ["id", "a b"],
    ["id", "é"],
    ["id", "a\n"],
    ["id", 1],
    ["type", undefined],
    ["type", null],
    ["at_ms", undefined],
    ["at_ms", "0"],
    ["entered_ms", undefined],
    ["entered_ms", null],
    ["said_by", "nurse"],
    ["entered_by", null],
  ] as const)("of any type is refused at %s for %j", (name, value) => {
    const members = { id: "e1", type: "unheard-of", at_ms: 0, entered_ms: 0, [name]: value };
    const kept = Object.entries(members).filter(([, member]) => member !== undefined);
    expect(whereOf({ ...draft().file(), events: [Object.fromEntries(kept) as Json] })).toBe(
      `events[0].${name}`,
    );
  });

  test("is an object", () => {
    expect(whereOf({ ...draft().file(), events: [1] })).toBe("events[0]");
  });

  test.each<readonly [string, { readonly [name: string]: Json }]>([
    ["events[0].step", { type: "step" }],
    ["events[0].value", { type: "step", step: "rhexis", value: [] }],
    ["events[0].value", { type: "step", step: "unheard-of", value: null }],
    ["events[0].step", { type: "not_done" }],
    ["events[0].reason", { type: "not_done", step: "rhexis", reason: 1 }],
    ["events[0].moment", { type: "room", moment: "patient_away" }],
    ["events[0].stage", { type: "fault", stage: "after" }],
    ["events[0].text", { type: "fault", text: null }],
    ["events[0].reached_eye", { type: "breach", reached_eye: "yes" }],
    ["events[0].text", { type: "breach", text: 1 }],
    ["events[0].what", { type: "complication", what: null }],
    ["events[0].deviation", { type: "answer", deviation: 1 }],
    ["events[0].grade", { type: "answer", grade: "G5" }],
    ["events[0].harm", { type: "answer", harm: null }],
    ["events[0].corrects", { type: "correct", void: true }],
    ["events[0].corrects", { type: "correct", corrects: "a b", void: true }],
    ["events[0]", { type: "correct", corrects: "e9" }],
    ["events[0]", { type: "correct", corrects: "e9", void: true, value: {} }],
    ["events[0].void", { type: "correct", corrects: "e9", void: false }],
    ["events[0].value", { type: "correct", corrects: "e9", value: 1 }],
    ["events[0].corrects", { type: "correct", corrects: "e1", void: true }],
  ])("is refused at %s: %j", (place, members) => {
    expect(whereEvent(members)).toBe(place);
  });

  test.each<{ readonly [name: string]: Json }>([
    { type: "step", step: "rhexis" },
    { type: "step", step: "unheard-of", value: { anything: null } },
    { type: "step", step: "rhexis", value: { unheard_of: null, then: "x" } },
    { type: "not_done", step: "unheard-of" },
    { type: "room" },
    { type: "fault" },
    { type: "breach" },
    { type: "complication" },
    { type: "answer", harm: { any: "thing" }, told: 1 },
    { type: "correct", corrects: "e9", value: { anything: null } },
    { type: "unheard-of", step: 1, value: null },
    { type: "room", said_by: "anaesthetist", entered_by: "scrub" },
  ])("may stand in a case file: %j", (members) => {
    expect(whereEvent(members)).toBeNull();
  });
});

describe("a value", () => {
  const value = (step: string, found: { readonly [name: string]: Json }) =>
    whereEvent({ type: "step", step, value: found });

  test.each<readonly [string, string, Json]>([
    ["patient-identity", "match", 1],
    ["patient-identity", "match", null],
    ["patient-identity", "kept_because", true],
    ["patient-identity", "kept_by", "nurse"],
    ["marked-eye", "eye", "both"],
    ["allergies", "allergies", "none"],
    ["allergies", "allergies", ["pollen"]],
    ["antiseptic", "contact_s", "120"],
    ["antiseptic", "agent", "iodine"],
    ["drug-check", "then", {}],
    ["drug-check", "then", [1]],
    ["drug-check", "then", [{ take_ul: "1" }]],
    ["drug-check", "then", [{ add_ul: null }]],
    ["opening-count", "items", [1]],
    ["opening-count", "items", { sharps: "1" }],
    ["cortex-mode", "mode", "cutting"],
    ["cortex-mode", "noticed", "never"],
    ["lens-box", "expiry", "2026-02-29"],
    ["lens-box", "expiry", "2026-13-01"],
    ["lens-box", "expiry", "2026-00-01"],
    ["lens-box", "expiry", "2026-01-00"],
    ["lens-box", "expiry", "1900-02-29"],
    ["lens-box", "expiry", "0000-01-01"],
    ["lens-box", "expiry", "26-01-01"],
    ["lens-box", "expiry", "2026-1-1"],
    ["lens-box", "expiry", "2026-01-01\n"],
    ["lens-box", "expiry", "２０２６-01-01"],
    ["lens-box", "expiry", 20_260_101],
    ["lens-placed", "site", "iris"],
    ["wound-hydration", "sutures", true],
  ])("of %s with %s %j is refused there", (step, name, found) => {
    expect(value(step, { [name]: found })).toBe(`events[0].value.${name}`);
  });

  test.each(["2024-02-29", "2000-02-29", "2026-12-31", "0001-01-01", "9999-12-31"])(
    "may hold the day %s",
    (expiry) => {
      expect(value("lens-box", { expiry })).toBeNull();
    },
  );

  test("may hold what is dangerous but possible", () => {
    expect(value("drug-check", { strength_ug_ml: -1, volume_ul: 9_007_199_254_740_991 })).toBeNull();
  });

  test.each(["vial_ug", "diluent_ul", "then"])("never holds a strength beside %s", (name) => {
    const found = { strength_ug_ml: 1, [name]: name === "then" ? [] : 1 };
    expect(value("drug-check", found)).toBe("events[0].value.strength_ug_ml");
    expect(value("intracameral-drug", found)).toBeNull();
  });
});

describe("events under one id", () => {
  test("count once where they are the same, whatever the order of their members", () => {
    const twice = draft();
    const { id, ...others } = twice.of("rhexis");
    twice.events.push({ ...others, id });
    expect(twice.all()).toEqual([]);
  });

  test.each<readonly [string, { readonly [name: string]: Json }]>([
    ["another value", { value: { diameter_um: 5000, continuous: false } }],
    ["another time", { entered_ms: 1 }],
    ["an unknown field more", { note: "x" }],
    ["true for 1", { note: true }],
  ])("are refused with %s", (_name, change) => {
    const twice = draft();
    if ("note" in change) twice.of("rhexis")["note"] = 1;
    twice.events.push({ ...twice.of("rhexis"), ...change });
    expect(whereOf(twice.file())).toBe(`events[${twice.events.length - 1}].id`);
  });
});

describe("corrections", () => {
  const wrong = () => draft().change("time-out", { eye: "left" });
  const value = { eye: "right" };
  const kept = "time-out/readback_mismatch";

  test("replace the whole value and leave the times", () => {
    const put = draft().change("rhexis", { diameter_um: 5600 });
    put.add("correct", { corrects: "rhexis", value: { continuous: true } }, put.at("sign-out"));
    expect(put.all()).toEqual([]);
  });

  test("take a record back with void, and a later value brings it back", () => {
    const put = wrong().add("correct", { corrects: "time-out", void: true }, 1);
    expect(put.all()).toEqual(["time-out/omitted G3"]);
    expect(put.add("correct", { corrects: "time-out", value }, 2).all()).toEqual([]);
  });

  test("the last by entered_ms, then id, alone decides, in whatever order they stand", () => {
    const at = (first_ms: number, second_ms: number, ids: readonly [string, string]) =>
      wrong()
        .add("correct", { corrects: "time-out", value, id: ids[0] }, first_ms)
        .add("correct", { corrects: "time-out", value: { eye: "left" }, id: ids[1] }, second_ms)
        .found(kept);
    expect(at(2, 1, ["a", "b"])).toBeUndefined();
    expect(at(1, 2, ["b", "a"])).toBe("G3");
    expect(at(1, 1, ["a", "b"])).toBe("G3");
    expect(at(1, 1, ["b", "a"])).toBeUndefined();
    expect(at(1, 1, ["b", "B"])).toBeUndefined();
  });

  test("are ordered by when they were entered, not by when they say it happened", () => {
    const put = wrong().add("correct", { corrects: "time-out", value, entered_ms: 5 }, 1);
    put.add("correct", { corrects: "time-out", value: { eye: "left" }, entered_ms: 4 }, 9);
    expect(put.found(kept)).toBeUndefined();
  });

  test("of an id that nobody knows wait", () => {
    const waiting = draft().add("correct", { corrects: "later", value: { any: null } }, 1);
    expect(waiting.all()).toEqual([]);
    expect(waiting.judged().unread).toBe(0);
  });

  test("are checked against the step that they correct, also where it stands after them", () => {
    const put = draft();
    put.events.unshift({
      id: "c",
      type: "correct",
      at_ms: 0,
      entered_ms: 0,
      corrects: "time-out",
      value: { eye: 1 },
    });
    expect(whereOf(put.file())).toBe("events[0].value.eye");
  });

  test("of a correction are refused", () => {
    const put = draft().add("correct", { corrects: "time-out", void: true, id: "c1" }, 1);
    put.add("correct", { corrects: "c1", void: true }, 2);
    expect(whereOf(put.file())).toBe(`events[${put.events.length - 1}].corrects`);
  });

  test("with a value leave an event that is no step as it was, and revive it", () => {
    const fault = draft().add("fault", { stage: "during", id: "f" }, 0);
    fault.add("correct", { corrects: "f", void: true }, 1);
    expect(fault.all()).toEqual([]);
    fault.add("correct", { corrects: "f", value: { stage: "before" } }, 2);
    expect(fault.all()).toEqual(["case/equipment/f G2"]);
  });
});

describe("what this version cannot read", () => {
  const UNKNOWN: readonly (readonly [string, { readonly [name: string]: Json }])[] = [
    ["unheard-of", {}],
    ["__proto__", {}],
    ["step", { step: "unheard-of" }],
    ["step", { step: "__proto__", value: {} }],
    ["not_done", { step: "unheard-of" }],
  ];

  test.each(UNKNOWN)("%s %j is counted and not judged", (type, members) => {
    const unread = draft().add(type, { ...members, id: "u" }, 0);
    expect(unread.all()).toEqual([]);
    expect(unread.judged().unread).toBe(1);
  });

  test.each(UNKNOWN)("%s %j is not counted once it was taken back", (type, members) => {
    const unread = draft().add(type, { ...members, id: "u" }, 0);
    unread.add("correct", { corrects: "u", void: true }, 1);
    expect(unread.judged().unread).toBe(0);
    unread.add("correct", { corrects: "u", value: {} }, 2);
    expect(unread.judged().unread).toBe(1);
  });

  test("the same event twice is counted once", () => {
    const unread = draft().add("unheard-of", { id: "u" }, 0).add("unheard-of", { id: "u" }, 0);
    expect(unread.judged().unread).toBe(1);
  });
});
