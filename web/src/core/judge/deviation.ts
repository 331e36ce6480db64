/** What the judge says: deviations, and the judgement that weekly counts are made of. */
import type { Grade } from "../protocol.ts";

export const ON_CASE = "case";

/** One deviation. `key` names it for good, so that the surgeon can answer it. */
export interface Deviation {
  readonly step: string;
  readonly kind: string;
  readonly grade: Grade;
  readonly key: string;
  readonly caught: boolean;
  readonly detail: string;
}

/**
 * One judged case. steps: codes of the steps that were due or recorded; injections: step to number of injections;
 * hubEvents: "step/grade" to number of injections that earned it; unread: entries this version cannot read.
 */
export interface Judgement {
  readonly deviations: readonly Deviation[];
  readonly flags: readonly string[];
  readonly unread: number;
  readonly hubNotAsked: number;
  readonly steps: ReadonlySet<string>;
  readonly injections: ReadonlyMap<string, number>;
  readonly hubEvents: ReadonlyMap<string, number>;
}

/** What one record adds to a deviation. */
export interface Earned {
  readonly grade: Grade;
  readonly caught: boolean;
  readonly detail: string;
}

export function earned(grade: Grade, caught: boolean, detail: string): Earned {
  return { grade, caught, detail };
}

/**
 * At most one deviation for a step and kind. Its grade is the highest that its records earn, and it is caught only if
 * each of them is (contract section 5).
 */
export function deviation(step: string, kind: string, parts: readonly Earned[]): readonly Deviation[] {
  const [first] = parts;
  if (first === undefined) return [];
  const grade = highest(
    parts.map((part) => part.grade),
    first.grade,
  );
  const caught = parts.every((part) => part.caught);
  const details = [...new Set(parts.map((part) => part.detail))];
  return [{ step, kind, grade, key: `${step}/${kind}`, caught, detail: details.join("; ") }];
}

export function highest(grades: readonly Grade[], least: Grade): Grade {
  return grades.reduce((high, grade) => (grade > high ? grade : high), least);
}
