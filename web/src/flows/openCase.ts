/** Opens a case from its slot on the list, or with a plan entered by hand; works with the network off. */
import type { Plan } from "../core/caseFile.ts";
import type { JsonObject } from "../core/json.ts";
import {
  cases,
  lists,
  protocol,
  timeZone,
  unitValues,
  type ListSlot,
  type TheatreList,
} from "../state/index.ts";
import { session } from "./session.ts";

/** A case that is not on the list, its plan entered by hand. */
export interface OffListCase {
  readonly date: string;
  readonly reference: string;
  readonly plan: Plan;
  readonly practice: boolean;
}

/** The case id is made from unit, date, reference and eye, so that two tablets that open one slot mean the same case. */
export function caseIdOf(unit: string, date: string, reference: string, eye: string): string {
  return `${unit}_${date}_${reference}_${eye}`;
}

/** Opens the case of a slot and returns its id. A case that is open here already is not opened twice. */
export function openSlot(list: TheatreList, slot: ListSlot): Promise<string> {
  const { eye, anaesthesia, red_reflex, lens, drug, reference, order } = slot;
  const place = { list: list.list, slot: { theatre: list.theatre, order } };
  return open(list.date, reference, { eye, anaesthesia, red_reflex, lens, drug }, place, false);
}

/** Opens a case that is on no list and returns its id. Where the day has one list only, its team brief counts here. */
export function openOffList({ date, reference, plan, practice }: OffListCase): Promise<string> {
  const ofDay = lists.value.filter((list) => list.date === date);
  const [only] = ofDay.length === 1 ? ofDay : [];
  return open(date, reference, plan, { list: only?.list ?? null, slot: null }, practice);
}

async function open(
  date: string,
  reference: string,
  plan: Plan,
  place: JsonObject,
  practice: boolean,
): Promise<string> {
  const { unit } = session().enrolment;
  const caseId = caseIdOf(unit, date, reference, plan.eye);
  if (cases.value.has(caseId)) return caseId;
  const { number, values } = unitValues.value;
  await session().keep({
    type: "case_opened",
    case: caseId,
    ...place,
    date,
    reference,
    plan: plan as unknown as JsonObject,
    protocol: protocol.value.protocol,
    unit_values: { number, values },
    unit,
    time_zone: timeZone.value,
    practice,
  });
  return caseId;
}
