/** Kind `hub_not_held`: an injection whose lock was not checked, whose hub nobody held, or that came off. */
import type { Record } from "../caseFile.ts";
import type { Grade } from "../protocol.ts";
import { deviation, earned, type Deviation, type Earned } from "./deviation.ts";
import type { Facts } from "./facts.ts";
import { isSuturesAlone } from "./order.ts";

export function hubNotHeld(facts: Facts): readonly Deviation[] {
  return [...injections(facts)].flatMap(([code, records]) => {
    const parts = records.flatMap((record): readonly Earned[] => {
      const grade = gradeOf(record, facts);
      return grade === null ? [] : [earned(grade, false, detailOf(record))];
    });
    return deviation(code, "hub_not_held", parts);
  });
}

export interface HubCounts {
  readonly injections: ReadonlyMap<string, number>;
  readonly hubEvents: ReadonlyMap<string, number>;
}

/** Injections by step, and those that earned each grade: the chances and events of the weekly counts. */
export function hubCounts(facts: Facts): HubCounts {
  const found = injections(facts);
  const hubEvents = new Map<string, number>();
  for (const [code, records] of found) {
    for (const record of records) {
      const grade = gradeOf(record, facts);
      if (grade !== null) hubEvents.set(`${code}/${grade}`, (hubEvents.get(`${code}/${grade}`) ?? 0) + 1);
    }
  }
  return { injections: new Map([...found].map(([code, records]) => [code, records.length])), hubEvents };
}

/** Records that put something into the eye without the hub question. */
export function hubNotAsked(facts: Facts): number {
  return facts.caseFile.records.filter(wasNotAsked).length;
}

function wasNotAsked(record: Record): boolean {
  if (!record.step.asks_hub || record.has("hub_held") || !record.inEye) return false;
  const sutures = record.step.sutures_field;
  return sutures === undefined || !isSuturesAlone(record, sutures);
}

function injections(facts: Facts): ReadonlyMap<string, readonly Record[]> {
  const found = [...facts.byStep].map(
    ([code, records]) => [code, records.filter((record) => record.isInjection)] as const,
  );
  return new Map(found.filter(([, records]) => records.length > 0));
}

function gradeOf(record: Record, facts: Facts): Grade | null {
  const { not_held, detached, injury } = facts.protocol.grades.hub_not_held;
  const isHeld = record.get("lock_checked") === true && record.get("hub_held") === true;
  const grades = [
    ...(record.get("injury") === true ? [injury] : []),
    ...(record.get("detached") === true ? [detached] : []),
    ...(isHeld ? [] : [not_held]),
  ];
  return grades.reduce<Grade | null>((high, grade) => (high === null || grade > high ? grade : high), null);
}

function detailOf(record: Record): string {
  const said = [
    ...(record.get("lock_checked") === true ? [] : ["lock not checked"]),
    ...(record.get("hub_held") === true ? [] : ["hub not held"]),
    ...(record.get("detached") === true ? ["it came off"] : []),
    ...(record.get("injury") === true ? ["injury"] : []),
  ];
  return said.join(", ");
}
