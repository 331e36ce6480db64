/** Today's list as rows: what is planned, what to mind, and how far each case is. */
import type { Eye } from "../../core/caseFile.ts";
import type { ListSlot, TheatreList, CaseView } from "../../state/index.ts";
import { pageText } from "../text/en.ts";
import { SIGN_OFF } from "./course.ts";
import { hasMoment, isNotDone, ledgerOf, recordsOf } from "./ledger.ts";

export type CaseState =
  | "none"
  | "next"
  | "open"
  | "to_sign"
  | "signed"
  | "signed_before"
  | "not_operated"
  | "moved";

export interface TodayRow {
  readonly slot: ListSlot;
  readonly caseId: string;
  readonly state: CaseState;
  readonly flags: readonly string[];
}

/** The case id of a slot: made from unit, date, reference and eye, so that two tablets mean the same case. */
export function caseIdOf(unit: string, date: string, reference: string, eye: Eye): string {
  return `${unit}_${date}_${reference}_${eye}`;
}

export function rowsOf(
  unit: string,
  list: TheatreList,
  cases: ReadonlyMap<string, CaseView>,
): readonly TodayRow[] {
  const rows = list.rows.map((slot): TodayRow => {
    const caseId = caseIdOf(unit, list.date, slot.reference, slot.eye);
    const view = cases.get(caseId);
    return { slot, caseId, state: view === undefined ? "none" : caseState(view), flags: flagsOf(slot) };
  });
  const next = rows.findIndex(({ state }) => state === "none");
  return rows.map((row, index) => (index === next ? { ...row, state: "next" } : row));
}

export function caseState(view: CaseView): Exclude<CaseState, "none" | "next"> {
  if (view.meta.moved_to !== null) return "moved";
  if (view.meta.not_operated !== null) return "not_operated";
  const ledger = ledgerOf(view.caseFile.events);
  const signed = recordsOf(ledger, SIGN_OFF).at(-1);
  if (signed !== undefined) return view.signedBeforeLater ? "signed_before" : "signed";
  const isOver =
    hasMoment(ledger, "patient_out") ||
    recordsOf(ledger, "sign-out").length > 0 ||
    isNotDone(ledger, "sign-out");
  return isOver ? "to_sign" : "open";
}

function flagsOf({ red_reflex, anaesthesia, lens }: ListSlot): readonly string[] {
  const { flags } = pageText.today;
  return [
    ...(red_reflex === "poor" ? [flags.poor] : []),
    ...(lens.dry_state_hydrophilic ? [flags.dryState] : []),
    ...(lens.power_cdpt < 0 ? [flags.minus] : []),
    ...(anaesthesia === "block" ? [flags.block] : []),
    ...(anaesthesia === "general" ? [flags.general] : []),
  ];
}

/** The row that the common slab opens: a case that is open, else one to sign, else the next one. */
export function rowInHand(rows: readonly TodayRow[]): TodayRow | null {
  const first = (state: CaseState) => rows.find((row) => row.state === state);
  return first("open") ?? first("next") ?? first("to_sign") ?? null;
}

/** The list to show: today's, or the latest one before it. */
export function listToShow(lists: readonly TheatreList[], today: string): readonly TheatreList[] {
  const ofToday = lists.filter(({ date }) => date === today);
  if (ofToday.length > 0) return ofToday;
  const earlier = lists.filter(({ date }) => date < today).toSorted((a, b) => (a.date < b.date ? 1 : -1));
  return earlier.filter(({ date }) => date === earlier[0]?.date);
}
