/** The statement: answers stand for the grade that they saw, and no free text is in what is signed. */
import { describe, expect, it } from "vitest";

import type { CaseEvent } from "../../src/core/caseFile.ts";
import { fold, type FoldEntry } from "../../src/core/caseFold.ts";
import type { JsonObject } from "../../src/core/json.ts";
import { answerFor, answersOf, buildStatement, isSignedBeforeLater } from "../../src/core/statement.ts";
import { protocol } from "../support/draftCase.ts";

const CASE = "demo_2026-11-25_KD4821_right";
const DEVIATION = {
  step: "rhexis",
  kind: "out_of_tolerance",
  key: "rhexis/out_of_tolerance",
  caught: false,
  detail: "",
};

function answer(id: string, at_ms: number, more: JsonObject): CaseEvent {
  return { id, type: "answer", at_ms, entered_ms: at_ms, deviation: DEVIATION.key, ...more };
}

describe("an answer", () => {
  it("is the last one that was not taken back", () => {
    const events = [
      answer("a", 1, { grade: "G1", happened: true }),
      answer("b", 2, { grade: "G2", happened: false }),
      answer("c", 3, { grade: "G2", happened: true, told: "yes" }),
      { id: "d", type: "correct", corrects: "c", void: true, at_ms: 4, entered_ms: 4 },
    ];
    expect(answersOf(events).get(DEVIATION.key)).toEqual({ grade: "G2", happened: false });
  });

  it("stands for its own grade and lower ones, and is reopened by a higher one", () => {
    const answers = answersOf([answer("a", 1, { grade: "G2", happened: true })]);
    expect(answerFor({ ...DEVIATION, grade: "G1" }, answers)).not.toBeNull();
    expect(answerFor({ ...DEVIATION, grade: "G2" }, answers)).not.toBeNull();
    expect(answerFor({ ...DEVIATION, grade: "G3" }, answers)).toBeNull();
  });
});

function entry(seq: number, event: JsonObject & { id: string; type: string }, device = "D"): FoldEntry {
  const wall_ms = 1_764_000_000_000 + seq * 60_000;
  const clock = {
    wall_ms,
    mono_ms: 1,
    boot: "b",
    utc_offset_min: 0,
    ago_ms: 0,
    offset_ms: 0,
    offset_error_ms: 0,
  };
  const digest = `${device}-${String(seq).padStart(3, "0")}`;
  return {
    device,
    seq,
    digest,
    event: { case: CASE, clock, ...event },
    texts: new Map([["t", "pump stopped"]]),
  };
}

const LENS = { model: "AURA-1", power_cdpt: 2150, optic_um: 6000, dry_state_hydrophilic: false };
const PLAN = { eye: "right", anaesthesia: "topical", red_reflex: "good", lens: LENS, drug: "cefuroxime" };
const OPENED = entry(0, {
  id: "o",
  type: "case_opened",
  plan: PLAN,
  protocol: protocol.protocol,
  unit_values: { number: 4, values: {} },
});
const FAULT = entry(1, { id: "f", type: "fault", stage: "during", text: { sha256: "t" } });
const ANSWER = entry(2, {
  id: "a",
  type: "answer",
  deviation: "case/equipment/f",
  grade: "G2",
  done: { sha256: "t" },
});

function signed(entries: readonly FoldEntry[]): FoldEntry {
  const statement = buildStatement("demo", entries, CASE, protocol);
  return entry(9, { id: "s", type: "sign_off", statement, proof: { kind: "pin" } });
}

function isBeforeLater(entries: readonly FoldEntry[]): boolean {
  const { meta } = fold(entries, CASE, protocol);
  if (meta.sign_off === null) throw new Error("not signed");
  return isSignedBeforeLater(entries, meta, meta.sign_off);
}

describe("a statement", () => {
  const entries = [OPENED, FAULT, ANSWER];

  it("names the case's entries, its deviations with their answers, and what it was judged by", () => {
    const statement = buildStatement("demo", entries, CASE, protocol);
    expect(statement).toMatchObject({
      v: 1,
      type: "sign-off",
      unit: "demo",
      case: CASE,
      entries: ["D-000", "D-001", "D-002"],
      protocol: "phaco-cataract@1",
      unit_values_number: 4,
    });
    const rows = statement["deviations"] as readonly JsonObject[];
    const equipment = rows.find(({ key }) => key === "case/equipment/f");
    expect(equipment?.["answer"]).toEqual({ grade: "G2", done: "text withheld" });
    expect(rows.some(({ step }) => step === "surgeon-sign-off")).toBe(false);
    expect(JSON.stringify(statement)).not.toContain("pump");
  });

  it("does not change when a text is erased", () => {
    const erased = entries.map((one) => ({ ...one, texts: new Map<string, string>() }));
    expect(buildStatement("demo", erased, CASE, protocol)).toEqual(
      buildStatement("demo", entries, CASE, protocol),
    );
  });

  it("cannot be made of a case that was never opened", () => {
    expect(() => buildStatement("demo", [FAULT], CASE, protocol)).toThrow("no open case");
  });

  it("stands before a later entry, but not before an answer, nor before itself", () => {
    const all = [...entries, signed(entries)];
    expect(isBeforeLater(all)).toBe(false);
    expect(isBeforeLater([...all, entry(10, { id: "a2", type: "answer", deviation: "x/omitted" })])).toBe(
      false,
    );
    expect(isBeforeLater([...all, entry(10, { id: "n", type: "room", moment: "patient_out" })])).toBe(true);
  });

  it("still names an event whose copy came by another device's log", () => {
    const all = [...entries, signed(entries)];
    const copy = { ...FAULT, device: "A", digest: "A-001" };
    expect(isBeforeLater([...all, copy])).toBe(false);
  });
});
