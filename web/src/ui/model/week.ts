/** A week's rows and quality figures as the office page shows them. */
import type { CountRow, OfficeWeek } from "../../flows/office.ts";
import type { Grade, Protocol } from "../../core/protocol.ts";
import { kindWords, officeText, reviewText, shownText, wordFor } from "../text/en.ts";

const GRADES: readonly Grade[] = ["G1", "G2", "G3", "G4"];

export interface ShownRow {
  readonly key: string;
  readonly step: string;
  readonly kind: string;
  readonly grade: Grade;
  readonly row: CountRow;
}

/** Rows in the order of the server; without zeros unless all are wanted. */
export function shownRows({ rows }: OfficeWeek, protocol: Protocol, withZeros: boolean): readonly ShownRow[] {
  return rows
    .filter((row) => withZeros || row.events > 0)
    .map((row) => ({
      key: `${row.step}/${row.kind}/${row.grade}`,
      step: stepName(protocol, row.step),
      kind: wordFor(kindWords, row.kind),
      grade: GRADES.find((grade) => grade === row.grade) ?? "G1",
      row,
    }));
}

/** The key word, with the code of the protocol, as two steps may share one key word. */
function stepName(protocol: Protocol, code: string): string {
  const step = protocol.steps.find((known) => known.step === code);
  return step === undefined ? reviewText.caseLevel : `${step.key_word} (${step.code})`;
}

export function caughtCount({ rows }: OfficeWeek): number {
  return rows.reduce((sum, row) => sum + row.caught, 0);
}

/** [received, listed]: only what stood on a list; a case opened by hand does not stand in for one that is missing. */
export function listedReceived({ quality }: Pick<OfficeWeek, "quality">): readonly [number, number] {
  const listed = Number(quality["cases_listed"] ?? 0);
  return [listed - Number(quality["listed_not_received"] ?? 0), listed];
}

export function qualityRows({ quality }: OfficeWeek): readonly (readonly [string, string])[] {
  return Object.entries(quality).map(([name, value]) => [
    wordFor(officeText.qualityWords, name),
    value === null ? shownText.noneToCount : String(value),
  ]);
}

/** "48, 23 to 29 November 2026" from 2026-W48; the week itself when it is none. */
export function weekRange(week: string): { readonly number: string; readonly range: string } {
  const parts = /^(\d{4})-W(\d{2})$/.exec(week);
  if (!parts) return { number: week, range: "" };
  const [, year = "", number = ""] = parts;
  const monday = mondayOf(Number(year), Number(number));
  const sunday = new Date(monday.getTime() + 6 * DAY_MS);
  const from = dayAndMonth(monday, monday.getUTCMonth() !== sunday.getUTCMonth());
  return {
    number: String(Number(number)),
    range: `${from} to ${dayAndMonth(sunday, true)} ${sunday.getUTCFullYear()}`,
  };
}

const DAY_MS = 86_400_000;

/** ISO 8601: week 1 holds 4 January. */
function mondayOf(year: number, week: number): Date {
  const fourth = new Date(Date.UTC(year, 0, 4));
  const weekday = (fourth.getUTCDay() + 6) % 7;
  return new Date(fourth.getTime() + ((week - 1) * 7 - weekday) * DAY_MS);
}

function dayAndMonth(day: Date, withMonth: boolean): string {
  const month = withMonth ? ({ month: "long" } as const) : {};
  return new Intl.DateTimeFormat("en-GB", { day: "numeric", ...month, timeZone: "UTC" }).format(day);
}
