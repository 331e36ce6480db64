/** Kind `out_of_tolerance`: both sides of every edge. */
import { expect, test } from "vitest";

import { draft } from "../../support/draftCase.ts";

const KIND = "out_of_tolerance";

test("antiseptic: the longest contact counts, 120 s is enough (povidone-iodine label: two minutes)", () => {
  const contact = (contact_s: number) => draft().change("antiseptic", { contact_s });
  expect(contact(119).found(`antiseptic/${KIND}`)).toBe("G2");
  expect(contact(120).found(`antiseptic/${KIND}`)).toBeUndefined();
  const twice = contact(119).record("antiseptic", { contact_s: 30 }, draft().at("antiseptic") + 1);
  expect(twice.found(`antiseptic/${KIND}`)).toBe("G2");
  expect(twice.record("antiseptic", { contact_s: 120 }, 0).found(`antiseptic/${KIND}`)).toBeUndefined();
});

test("antiseptic without a contact time is not judged, and is passed over beside others", () => {
  const none = draft().change("antiseptic", { contact_s: undefined });
  expect(none.all()).toEqual([]);
  expect(none.record("antiseptic", { contact_s: 90 }, none.at("antiseptic")).all()).toEqual([
    `antiseptic/${KIND} G2`,
  ]);
});

test.each([
  [1799, "G1"],
  [1800, undefined],
  [3000, undefined],
  [3001, "G1"],
])("main wound of %i um: %s", (width_um, grade) => {
  expect(draft().change("main-wound", { width_um }).found(`main-wound/${KIND}`)).toBe(grade);
});

test("any main wound outside counts, not only the last", () => {
  const two = draft().change("main-wound", { width_um: 3001 });
  two.record("main-wound", { width_um: 2200 }, two.at("main-wound") + 1);
  expect(two.found(`main-wound/${KIND}`)).toBe("G1");
});

/** clinical F1: margin = (optic - opening) / 2 - decentration, at least 0.25 mm. Geometry. */
test.each([
  [6000, 5000, 0, undefined],
  [6000, 5500, 0, undefined],
  [6000, 5501, 0, "G2"],
  [6000, 5600, 0, "G2"],
  [5500, 5200, 0, "G2"],
  [6000, 5000, 250, undefined],
  [6000, 5000, 251, "G2"],
  [6000, 4999, 251, "G2"],
  [6000, 4998, 251, undefined],
  [6000, 4500, 0, undefined],
  [6000, 4499, 0, "G1"],
  [6500, 5500, 0, undefined],
  [6500, 5501, 0, "G1"],
  [7000, 5501, 500, "G2"],
])("optic %i, opening %i, decentred by %i um: %s", (optic_um, diameter_um, decentration_um, grade) => {
  const rhexis = draft().change("rhexis", { diameter_um, decentration_um });
  rhexis.plan.lens.optic_um = optic_um;
  expect(rhexis.found(`rhexis/${KIND}`)).toBe(grade);
});

test("the last opening counts, and one without a diameter is not judged", () => {
  const last = draft().change("rhexis", { diameter_um: 5600 });
  expect(last.record("rhexis", { diameter_um: 5000, continuous: true }, last.at("rhexis") + 1).all()).toEqual(
    [],
  );
  expect(last.record("rhexis", { continuous: true }, last.at("rhexis") + 2).all()).toEqual([]);
});

test("overlap stays exact beyond 2^53", () => {
  const huge = draft().change("rhexis", {
    diameter_um: -9_007_199_254_740_991,
    decentration_um: 9_007_199_254_740_741,
  });
  huge.plan.lens.optic_um = 9_007_199_254_740_991;
  expect(huge.found(`rhexis/${KIND}`)).toBe("G1");
  huge.change("rhexis", { decentration_um: 9_007_199_254_740_742 });
  expect(huge.found(`rhexis/${KIND}`)).toBe("G2");
});

const MODES: readonly (readonly [string, string, readonly [number, number], readonly [number, number]])[] = [
  ["ultrasound-mode", "sculpt", [30, 120], [15_000, 40_000]],
  ["ultrasound-mode", "segment", [200, 550], [20_000, 60_000]],
  ["ultrasound-mode", "epinucleus", [100, 350], [20_000, 45_000]],
  ["cortex-mode", "cortex", [300, 650], [20_000, 50_000]],
  ["cortex-mode", "polish", [5, 50], [4_000, 15_000]],
  ["washout-mode", "ovd_removal", [300, 650], [25_000, 60_000]],
  ["vitrectomy-mode", "vitrectomy", [100, 350], [8_000, 25_000]],
];

test.each(MODES)("%s, %s: vacuum and flow at and beyond both ends", (step, mode, vacuum, flow) => {
  const [low_mmhg, high_mmhg] = vacuum;
  const [low_ul_min, high_ul_min] = flow;
  const judged = (vacuum_mmhg: number, flow_ul_min: number) => {
    const settings = draft().without(step);
    const value = { vitreous: true, mode, vacuum_mmhg, flow_ul_min };
    return settings.record(step, value, draft().at("cortex-mode")).found(`${step}/${KIND}`);
  };
  expect(judged(low_mmhg, low_ul_min)).toBeUndefined();
  expect(judged(high_mmhg, high_ul_min)).toBeUndefined();
  expect(judged(low_mmhg - 1, low_ul_min)).toBe("G1");
  expect(judged(high_mmhg + 1, low_ul_min)).toBe("G1");
  expect(judged(low_mmhg, low_ul_min - 1)).toBe("G1");
  expect(judged(low_mmhg, high_ul_min + 1)).toBe("G1");
});

test("settings without a mode, and values of a mode that is not allowed, are not judged", () => {
  const none = draft().change("cortex-mode", { mode: undefined, vacuum_mmhg: 1 });
  expect(none.all()).toEqual([]);
  const wrong = draft().change("cortex-mode", { mode: "sculpt", vacuum_mmhg: 700 });
  expect(wrong.found(`cortex-mode/${KIND}`)).toBeUndefined();
});

test("a value outside counts whether or not it was noticed", () => {
  const noticed = draft().change("cortex-mode", { vacuum_mmhg: 651, noticed: "before_entry" });
  expect(noticed.found(`cortex-mode/${KIND}`)).toBe("G1");
});

test("the unit's card is kept within 20 %, ends included, and leaves other quantities alone", () => {
  const card = (card_mmhg: number) => (vacuum_mmhg: number) => {
    const settings = draft().change("ultrasound-mode", { vacuum_mmhg });
    settings.unit = { modes: { segment: { vacuum_mmhg: card_mmhg } } };
    return settings.found(`ultrasound-mode/${KIND}`);
  };
  expect([319, 320, 480, 481].map(card(400))).toEqual(["G1", undefined, undefined, "G1"]);
  // 401 - 80.2 = 320.8 and 401 + 80.2 = 481.2
  expect([320, 321, 481, 482].map(card(401))).toEqual(["G1", undefined, undefined, "G1"]);
  const flow = draft().change("ultrasound-mode", { flow_ul_min: 60_001 });
  flow.unit = { modes: { segment: { vacuum_mmhg: 350 } } };
  expect(flow.found(`ultrasound-mode/${KIND}`)).toBe("G1");
});

test("seal check: the last record decides", () => {
  const leak = draft().change("seal-check", { state: "leak" });
  expect(leak.found(`seal-check/${KIND}`)).toBe("G3");
  expect(leak.record("seal-check", { state: "dry" }, leak.at("seal-check") + 1).all()).toEqual([]);
});

test.each([
  [{ state: "leak" }, "G3"],
  [{ state: "leak", tone: "soft" }, "G3"],
  [{ tone: "soft" }, "G2"],
  [{ tone: "firm" }, "G2"],
  [{ pressure_mmhg: 9, instrument: "tonometer" }, "G2"],
  [{ pressure_mmhg: 10, instrument: "tonometer" }, undefined],
  [{ pressure_mmhg: 25, instrument: "tonometer" }, undefined],
  [{ pressure_mmhg: 26, instrument: "tonometer" }, "G2"],
  [{ pressure_mmhg: 60, instrument: "" }, undefined],
  [{ pressure_mmhg: 60 }, undefined],
  [{ state: undefined, tone: undefined }, undefined],
])("last look %j: %s", (changes, grade) => {
  expect(draft().change("final-look", changes).found(`final-look/${KIND}`)).toBe(grade);
});

test("the unit's own limits replace the defaults", () => {
  const own = draft();
  own.unit = {
    main_wound_um: [2300, 2400],
    rhexis_um: [5100, 5200],
    overlap_um: 500,
    antiseptic_s: 181,
    pressure_mmhg: [12, 21],
  };
  own.change("final-look", { pressure_mmhg: 22, instrument: "tonometer" });
  expect(own.all()).toEqual([
    `antiseptic/${KIND} G2`,
    `final-look/${KIND} G2`,
    `main-wound/${KIND} G1`,
    `rhexis/${KIND} G1`,
  ]);
  own.unit["overlap_um"] = 501;
  expect(own.found(`rhexis/${KIND}`)).toBe("G2");
});
