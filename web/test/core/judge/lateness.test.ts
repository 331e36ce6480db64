/** Kind `late_entry` and the flag `burst`. */
import { expect, test } from "vitest";

import { draft } from "../../support/draftCase.ts";

function entered(step: string, after_ms: number) {
  const late = draft();
  late.of(step).entered_ms = late.at(step) + after_ms;
  return late;
}

test("60 s after it happened is in time, one millisecond more is late", () => {
  expect(entered("rhexis", 60_000).all()).toEqual([]);
  expect(entered("rhexis", 60_001).all()).toEqual(["rhexis/late_entry G1"]);
  expect(entered("rhexis", -3_600_000).all()).toEqual([]);
});

test("any late record counts, not only the last", () => {
  const two = entered("rhexis", 60_001);
  two.record("rhexis", { diameter_um: 5000, continuous: true }, two.at("rhexis") + 1);
  expect(two.all()).toEqual(["rhexis/late_entry G1"]);
});

test("the list's own steps are never late", () => {
  expect(entered("team-brief", 9_000_000).all()).toEqual([]);
  const debrief = draft().record("list-debrief", {}, 0, { entered_ms: 9_000_000 });
  expect(debrief.all()).toEqual([]);
});

test("events that are not records are never late", () => {
  expect(draft().add("room", { moment: "patient_in", entered_ms: 9_000_000 }, 0).all()).toEqual([]);
});

test("the unit's own limit replaces the default", () => {
  const own = entered("rhexis", 1);
  own.unit = { late_s: 0 };
  expect(own.all()).toEqual(["rhexis/late_entry G1"]);
});

test("a correction does not make a record late", () => {
  const put = draft();
  const value = { diameter_um: 5100, continuous: true };
  put.add("correct", { corrects: "rhexis", value }, put.at("rhexis") + 9_000_000);
  expect(put.all()).toEqual([]);
});

/** Four records whose last was entered `span_ms` after the first. */
function four(span_ms: number) {
  const records = draft();
  records.events = [];
  for (const entered_ms of [0, 1, span_ms - 1, span_ms]) records.record("machine-ready", {}, entered_ms);
  return records;
}

test("four records entered within 10,000 ms are a burst, ends included", () => {
  expect(four(10_000).judged().flags).toEqual(["burst"]);
  expect(four(10_001).judged().flags).toEqual([]);
  expect(draft().judged().flags).toEqual([]);
});

test("a burst is a flag and no deviation", () => {
  expect(
    four(10_000)
      .judged()
      .deviations.map(({ kind }) => kind),
  ).not.toContain("burst");
});

test("three records and whatever is no record make no burst", () => {
  const three = draft();
  three.events = [];
  for (const at_ms of [0, 1, 2]) three.record("machine-ready", {}, at_ms);
  three.record("machine-ready", {}, 3, { id: "slip" }).add("correct", { corrects: "slip", void: true }, 4);
  three.add("not_done", { step: "rhexis" }, 5).add("room", {}, 5).add("fault", {}, 5).add("answer", {}, 5);
  three.record("unheard-of", {}, 5).add("unheard-of", {}, 5);
  expect(three.judged().flags).toEqual([]);
});
