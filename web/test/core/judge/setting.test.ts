/** Kind `wrong_setting`: a mode that is not allowed at its step. */
import { expect, test } from "vitest";

import { draft } from "../../support/draftCase.ts";

const ALLOWED: Readonly<Record<string, readonly string[]>> = {
  "ultrasound-mode": ["sculpt", "segment", "epinucleus"],
  "cortex-mode": ["cortex", "polish"],
  "washout-mode": ["ovd_removal"],
  "vitrectomy-mode": ["vitrectomy"],
};
const MODES = Object.values(ALLOWED).flat();

test.each(Object.entries(ALLOWED))("%s allows its own modes and no other", (step, allowed) => {
  const refused = MODES.filter((mode) => {
    const settings = draft().without(step).record(step, { vitreous: true, mode }, draft().at("cortex-mode"));
    return settings.found(`${step}/wrong_setting`) === "G2";
  });
  expect(refused).toEqual(MODES.filter((mode) => !allowed.includes(mode)));
});

function wrong(noticed?: string) {
  return draft().change("cortex-mode", { mode: "segment", ...(noticed === undefined ? {} : { noticed }) });
}

function corrected(noticed?: string, mode = "cortex", by_ms = 1) {
  return wrong(noticed).record("cortex-mode", { mode }, draft().at("cortex-mode") + by_ms);
}

test("noticed before entry and followed by an allowed mode: G1", () => {
  expect(corrected("before_entry").found("cortex-mode/wrong_setting")).toBe("G1 caught");
});

test.each([
  ["never put right", wrong("before_entry"), "G2 caught"],
  ["noticed after entry", corrected("after_entry"), "G2"],
  ["not noticed", corrected(), "G2"],
  ["followed by another wrong mode", corrected("before_entry", "sculpt"), "G2"],
  ["the allowed mode came before", corrected("before_entry", "cortex", -1), "G2 caught"],
])("%s: G2", (_name, settings, expected) => {
  expect(settings.found("cortex-mode/wrong_setting")).toBe(expected);
});

test("at the same time the record that is later in order, by id, puts it right", () => {
  const at_ms = draft().at("cortex-mode");
  const order = (id: string) =>
    wrong("before_entry")
      .record("cortex-mode", { mode: "cortex" }, at_ms, { id })
      .found("cortex-mode/wrong_setting");
  expect(order("z")).toBe("G1 caught");
  expect(order("a")).toBe("G2 caught");
});

test("vitrectomy mode is judged whatever was said of vitreous; without a mode it is not", () => {
  const torn = (value: { vitreous: boolean; mode?: string }) =>
    draft()
      .record("vitrectomy-mode", value, draft().at("cortex-mode"))
      .found("vitrectomy-mode/wrong_setting");
  expect(torn({ vitreous: false, mode: "cortex" })).toBe("G2");
  expect(torn({ vitreous: true })).toBeUndefined();
});
