/** The review of one case: deviations with the surgeon's answers, and what is still to answer before signing. */
import type { Json } from "../../core/json.ts";
import type { Deviation } from "../../core/judge/deviation.ts";
import type { Grade } from "../../core/protocol.ts";
import { textOf } from "../format/jsonParts.ts";
import { SIGN_OFF } from "./course.ts";
import type { Entry, Value } from "./ledger.ts";

export interface ReviewRow {
  readonly deviation: Deviation;
  /** The last answer to this deviation, null while there is none. */
  readonly answer: Value | null;
  /** The grade that the answer was given for; a higher one now opens the question again. */
  readonly answeredGrade: Grade | null;
  readonly isAnswered: boolean;
  readonly isReopened: boolean;
}

const ORDER: readonly Grade[] = ["G4", "G3", "G2", "G1"];

/** Worst first, then in the judge's order; the rows of the sign-off itself are not the surgeon's to answer. */
export function reviewRows(deviations: readonly Deviation[], ledger: readonly Entry[]): readonly ReviewRow[] {
  const rows = deviations
    .filter(({ step }) => step !== SIGN_OFF)
    .map((deviation) => rowOf(deviation, ledger));
  return rows.toSorted((a, b) => ORDER.indexOf(a.deviation.grade) - ORDER.indexOf(b.deviation.grade));
}

function rowOf(deviation: Deviation, ledger: readonly Entry[]): ReviewRow {
  const entry = answersIn(ledger)
    .filter(({ event }) => event["deviation"] === deviation.key)
    .at(-1);
  const grade = ORDER.find((known) => known === entry?.event["grade"]) ?? null;
  const isReopened = grade !== null && ORDER.indexOf(deviation.grade) < ORDER.indexOf(grade);
  return {
    deviation,
    answer: entry === undefined ? null : entry.event,
    answeredGrade: grade,
    isAnswered: entry !== undefined && !isReopened,
    isReopened,
  };
}

/** Answers in order of entry: the last one to a deviation stands. */
function answersIn(ledger: readonly Entry[]): readonly Entry[] {
  return ledger
    .filter(({ type, voided }) => type === "answer" && !voided)
    .toSorted((a, b) => a.entered_ms - b.entered_ms);
}

/** Answers whose deviation is no longer raised: they are kept and shown. */
export function goneAnswers(deviations: readonly Deviation[], ledger: readonly Entry[]): readonly string[] {
  const raised = new Set(deviations.map(({ key }) => key));
  const keys = answersIn(ledger).map(({ event }) => textOf(event["deviation"]));
  return [...new Set(keys)].filter((key) => !raised.has(key));
}

export const QUESTIONS = ["happened", "reached_eye", "done", "harm", "aftercare", "told", "report"] as const;
export type Question = (typeof QUESTIONS)[number];

/** Answers as they are tapped; `instead` goes with happened "no". */
export type AnswerDraft = Partial<Record<Question, Json>>;

/** G1 takes one tap, "seen"; from G2 on every question is asked. */
export function questionsOf(grade: Grade): readonly Question[] {
  return grade === "G1" ? [] : QUESTIONS;
}

/** G4, the wrong eye or lens, a retained item, a drug not on the list: a report is the rule. */
export function reportIsTheRule({ grade, step, kind }: Deviation): boolean {
  if (grade === "G4") return true;
  const isSerious = grade === "G3";
  const isLens = kind === "substitution" && step === "lens-placed";
  const isIdentity = kind === "readback_mismatch" && isSerious;
  return isLens || isIdentity || (kind === "count" && isSerious);
}

export function unanswered(grade: Grade, draft: AnswerDraft): number {
  return questionsOf(grade).filter((question) => draft[question] === undefined || draft[question] === "")
    .length;
}
