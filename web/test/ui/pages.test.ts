/** Addresses, today's list, a case by hand, the review and the week as the pages show them. */
import { expect, test } from "vitest";

import type { Grade } from "../../src/core/protocol.ts";
import type { ListSlot, TheatreList } from "../../src/state/index.ts";
import { goneAnswers, reportIsTheRule, reviewRows, unanswered } from "../../src/ui/model/review.ts";
import type { CaseEvent } from "../../src/core/caseFile.ts";
import { ledgerOf } from "../../src/ui/model/ledger.ts";
import { EMPTY_OFF_LIST, isReference, readOffList } from "../../src/ui/model/offList.ts";
import { keepingStateOf } from "../../src/ui/model/keeping.ts";
import { caseState, listToShow, rowInHand, rowsOf } from "../../src/ui/model/today.ts";
import { listedReceived, weekRange } from "../../src/ui/model/week.ts";
import { readRoute, to } from "../../src/ui/route.ts";
import { draft, opened } from "./steps.ts";

test("every address that the pages write is read back as its page", () => {
  const pages = [
    to.today,
    to.offList,
    to.keeping,
    to.office,
    to.lists,
    to.help,
    to.enrol,
    to.week("2026-W48"),
    to.brief("l"),
    to.debrief("l"),
    to.live("c"),
    to.steps("c"),
    to.happened("c"),
    to.review("c"),
    to.notOperated("c"),
    to.move("c"),
    to.step("c", "rhexis"),
    to.notDone("c", "rhexis"),
    to.correct("c", "e1"),
  ].map((address) => readRoute(address).page);
  expect(pages).toEqual([
    "today",
    "off-list",
    "keeping",
    "office",
    "lists",
    "help",
    "enrol",
    "week",
    "brief",
    "debrief",
    "live",
    "steps",
    "happened",
    "review",
    "not-operated",
    "move",
    "step",
    "not-done",
    "correct",
  ]);
});

test.each(["#/nowhere", "#/case", "#/case/c/nowhere", "#/case/c/step", "#/list/l/nowhere"])(
  "%s is no page",
  (address) => {
    expect(readRoute(address).page).toBe("unknown");
  },
);

test.each([
  ["KD4821", true],
  ["AB12", true],
  ["ABCDEFGHIJKL", true],
  ["A1234", false],
  ["AB12345", false],
  ["AB1", false],
  ["ABCDEFGHIJKLM", false],
  ["ab12", false],
  ["AB 12", false],
])("%s is a reference: %s", (text, expected) => {
  expect(isReference(text)).toBe(expected);
});

test("a plan by hand is whole only when everything was given", () => {
  expect(readOffList(EMPTY_OFF_LIST).missing).toHaveLength(9);
  const whole = {
    reference: "KD4821",
    eye: "left",
    anaesthesia: "topical",
    red_reflex: "good",
    model: "AURA-1",
    power: "-2,25",
    optic: "6.0",
    dryState: false,
    drug: "cefuroxime",
  };
  expect(readOffList(whole).plan?.lens).toEqual({
    model: "AURA-1",
    power_cdpt: -225,
    optic_um: 6000,
    dry_state_hydrophilic: false,
  });
  expect(readOffList({ ...whole, power: "21.55" })).toMatchObject({
    plan: null,
    refused: { power: expect.any(String) },
  });
});

const slot = (order: number, reference: string): ListSlot => ({
  order,
  reference,
  eye: "right",
  anaesthesia: "topical",
  red_reflex: "good",
  drug: "cefuroxime",
  lens: { model: "AURA-1", power_cdpt: 2150, optic_um: 6000, dry_state_hydrophilic: false },
});
const list = (date: string, ...rows: ListSlot[]): TheatreList => ({
  list: `u_${date}_a`,
  date,
  theatre: "a",
  rows,
  brief_ms: null,
  debrief_ms: null,
});

test("the list of today is shown, or the latest before it, never one that is still to come", () => {
  const lists = [list("2026-11-23"), list("2026-11-24"), list("2026-11-26")];
  expect(listToShow(lists, "2026-11-24").map(({ date }) => date)).toEqual(["2026-11-24"]);
  expect(listToShow(lists, "2026-11-25").map(({ date }) => date)).toEqual(["2026-11-24"]);
  expect(listToShow(lists, "2026-11-22")).toEqual([]);
});

test("the first case that is not opened is next in; an open one goes before it", () => {
  const today = list("2026-11-24", slot(1, "AB12"), slot(2, "CD34"));
  const none = rowsOf("u", today, new Map());
  expect([none.map(({ state }) => state), rowInHand(none)?.slot.order]).toEqual([["next", "none"], 1]);
  const { view } = opened(draft().without("sign-out", "surgeon-sign-off"));
  const open = rowsOf("u", today, new Map([["u_2026-11-24_CD34_right", view]]));
  expect([open.map(({ state }) => state), rowInHand(open)?.slot.order]).toEqual([["next", "open"], 2]);
});

test("a case goes from open to sign to signed, and a later entry shows", () => {
  const states = [
    draft().without("sign-out", "surgeon-sign-off"),
    draft().without("surgeon-sign-off"),
    draft(),
  ];
  expect(states.map((drafted) => caseState(opened(drafted).view))).toEqual(["open", "to_sign", "signed"]);
  expect(caseState({ ...opened(draft()).view, signedBeforeLater: true })).toBe("signed_before");
  expect(caseState(opened(draft(), { not_operated: "cancelled" }).view)).toBe("not_operated");
});

const deviation = (key: string, grade: Grade) => ({
  step: key.split("/")[0] ?? "",
  kind: key.split("/")[1] ?? "",
  grade,
  key,
  caught: false,
  detail: "",
});
const answerTo = (key: string, grade: Grade, entered_ms: number): CaseEvent => ({
  id: `a${entered_ms}`,
  type: "answer",
  deviation: key,
  grade,
  at_ms: entered_ms,
  entered_ms,
});

test("the worst deviation stands first, and the sign-off's own row is not the surgeon's to answer", () => {
  const rows = reviewRows(
    [
      deviation("rhexis/out_of_tolerance", "G1"),
      deviation("dye/dose", "G4"),
      deviation("surgeon-sign-off/omitted", "G2"),
    ],
    [],
  );
  expect(rows.map((row) => row.deviation.key)).toEqual(["dye/dose", "rhexis/out_of_tolerance"]);
});

test("an answer counts for the grade it saw: a higher one opens the question again, a lower one does not", () => {
  const ledger = ledgerOf([answerTo("dye/dose", "G2", 5)]);
  const [higher] = reviewRows([deviation("dye/dose", "G3")], ledger);
  const [lower] = reviewRows([deviation("dye/dose", "G1")], ledger);
  expect([higher?.isAnswered, higher?.isReopened, lower?.isAnswered]).toEqual([false, true, true]);
});

test("an answer whose deviation is no longer raised is kept and named", () => {
  expect(goneAnswers([], ledgerOf([answerTo("dye/dose", "G2", 5)]))).toEqual(["dye/dose"]);
});

test("G1 takes no question, G2 and above all seven", () => {
  expect([unanswered("G1", {}), unanswered("G2", {}), unanswered("G4", { happened: true })]).toEqual([
    0, 7, 6,
  ]);
});

test("G4, a kept wrong reading, another lens and a count that differs make a report the rule", () => {
  const rule = [
    deviation("dye/dose", "G4"),
    deviation("lens-box/readback_mismatch", "G3"),
    deviation("lens-placed/substitution", "G1"),
    deviation("closing-count/count", "G3"),
  ];
  expect(rule.map(reportIsTheRule)).toEqual([true, true, true, true]);
  expect(reportIsTheRule(deviation("lens-box/readback_mismatch", "G2"))).toBe(false);
});

const KEEPING = {
  stored: 4,
  received: 4,
  contact: "reached",
  lastContactMs: 1,
  sending: false,
  problem: null,
  persisted: null,
} as const;
const READY = { phase: "ready", unit: "u", unitName: null, name: "t", lostStored: null } as const;

test("the server has it only when a receipt covers everything stored", () => {
  expect(keepingStateOf(READY, KEEPING)).toBe("both");
  expect(keepingStateOf(READY, { ...KEEPING, stored: 5 })).toBe("here");
  expect(keepingStateOf(READY, { ...KEEPING, contact: "never" })).toBe("here");
  expect(keepingStateOf(READY, { ...KEEPING, contact: "cut" })).toBe("cut");
  expect(keepingStateOf({ ...READY, phase: "lost_store" }, KEEPING)).toBe("lost");
  expect(keepingStateOf({ ...READY, phase: "not_enrolled" }, KEEPING)).toBeNull();
});

test.each([
  ["2026-W48", "48", "23 to 29 November 2026"],
  ["2026-W01", "1", "29 December to 4 January 2026"],
  ["2026-W53", "53", "28 December to 3 January 2027"],
])("week %s runs from Monday to Sunday", (week, number, range) => {
  expect(weekRange(week)).toEqual({ number, range });
});

test("a case opened by hand does not stand in for a listed one that is missing", () => {
  const quality = { cases_listed: 8, cases_received: 4, listed_not_received: 5, not_on_the_list: 1 };
  expect(listedReceived({ quality })).toEqual([3, 8]);
});
