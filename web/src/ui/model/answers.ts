/** The slabs of a step: the protocol's answers, the unit's offers, and what earlier steps carry forward. */
import { isObject } from "../../core/json.ts";
import type { Field, Protocol, Step } from "../../core/protocol.ts";
import { countsText, doseText, fieldText, settingCall, valueText } from "../format/recordText.ts";
import { choiceWords, liveText, wordFor } from "../text/en.ts";
import { editedFields } from "./draft.ts";
import { allergiesOf, lastRecord, type Entry, type Value } from "./ledger.ts";
import type { UnitValues } from "../../core/unitValues.ts";
import type { UnitSettings } from "../../state/index.ts";
import { isBarred } from "./barred.ts";

/** One tap of a slab: `value` is whole but for `thenAsk`, the field that is asked next. */
export interface Answer {
  readonly label: string;
  readonly detail?: string | undefined;
  readonly value: Value;
  readonly thenAsk?: string | undefined;
  /** A short number among its likes: stands in the row of values. */
  readonly isNear?: boolean;
}

/** `first`: the common answer, or null where none may be offered; `note`: a line that stands beside the answers. */
export interface Answers {
  readonly first: Answer | null;
  readonly others: readonly Answer[];
  readonly note: string | null;
}

export interface StepContext {
  readonly protocol: Protocol;
  readonly step: Step;
  readonly ledger: readonly Entry[];
  readonly unit: UnitValues;
  readonly settings: UnitSettings;
  readonly plannedDrug: string;
}

/** A lens is read digit by digit, with the plan covered, wherever model and power are read and not carried. */
export function isLensReading(step: Step): boolean {
  const names = new Set(step.fields.map(({ name }) => name));
  return names.has("model") && names.has("power_cdpt") && step.carried_from === undefined;
}

export function answersOf(context: StepContext): Answers {
  const { step } = context;
  if (step.dose) return step.dose.of === "dye" ? plain(dyeOffers(context)) : drugOffers(context);
  if (step.count) return closingCount(context);
  if (step.fields.some(({ type }) => type === "counts")) return openingCount(context);
  const answers = [...protocolAnswers(context), ...unitOffers(context)];
  // Neither eye is the common answer: a slab that stands out would be tapped without reading.
  if (step.readback?.rule === "eye") return { first: null, others: answers, note: null };
  const barred = step.contraindicated?.rule === "antiseptic" && antisepticIsBarred(context);
  return barred ? { first: null, others: [], note: null } : plain(answers);
}

function plain(answers: readonly Answer[]): Answers {
  return { first: answers[0] ?? null, others: answers.slice(1), note: null };
}

function protocolAnswers(context: StepContext): Answer[] {
  const { step, ledger } = context;
  const carried = step.carried_from === undefined ? null : lastRecord(ledger, step.carried_from);
  const { model, power_cdpt } = carried?.value ?? {};
  const lens = model === undefined || power_cdpt === undefined ? {} : { model, power_cdpt };
  const answers = (step.answers ?? []).map(({ label, value, then_ask }) => ({
    label,
    value: { ...value, ...lens },
    thenAsk: then_ask,
  }));
  return plannedSiteFirst(context, answers);
}

/** Where a later plan names another place for the lens, that place is the common answer. */
function plannedSiteFirst({ protocol, step, ledger }: StepContext, answers: readonly Answer[]): Answer[] {
  const rule = step.substitution;
  if (rule?.rule !== "lens") return [...answers];
  const replan = protocol.steps.find(
    (other) => other !== step && other.fields.some(({ name }) => name === rule.site),
  );
  const planned = replan && lastRecord(ledger, replan.step)?.value[rule.site];
  return answers.toSorted(
    (a, b) => Number(b.value[rule.site] === planned) - Number(a.value[rule.site] === planned),
  );
}

/** The first offer in full; the others by what sets them apart from it, where that is one field. */
function unitOffers({ step, settings }: StepContext): Answer[] {
  const offers = settings.offers[step.step] ?? [];
  return offers.map((value, index) => {
    if (step.settings) return { label: settingCall(value), detail: liveText.pick.settingUnits, value };
    const apart = index === 0 ? null : onlyDifference(step, offers[0] ?? {}, value);
    const label = apart === null ? valueText(step, value) : fieldText(step, apart, value);
    return { label: upperFirst(label), value, isNear: apart?.type === "whole" };
  });
}

function onlyDifference(step: Step, first: Value, other: Value): Field | null {
  const apart = step.fields.filter(({ name }) => first[name] !== other[name]);
  return apart.length === 1 ? (apart[0] ?? null) : null;
}

function antisepticIsBarred({ protocol, ledger }: StepContext): boolean {
  return allergiesOf(ledger).has(protocol.fixed.antiseptic_barred_by);
}

function drugOffers({ step, ledger, unit, settings, plannedDrug }: StepContext): Answers {
  if (!step.substitution && !step.dose?.chain) return { first: null, others: [], note: null };
  const allergies = allergiesOf(ledger);
  const offers = settings.antibiotics.filter(
    ({ drug }) => unit.drugs.has(drug) && !isBarred(unit, drug, allergies),
  );
  const planned = [...offers].toSorted(
    (a, b) => Number(b.drug === plannedDrug) - Number(a.drug === plannedDrug),
  );
  const barred = [...unit.drugs.keys()].filter((drug) => isBarred(unit, drug, allergies));
  const note =
    barred.length === 0 ? null : liveText.pick.barred(barred.map((drug) => wordFor(choiceWords, drug)));
  const answers = planned.map((value, index) => doseAnswer(step, { ...value }, index === 0));
  return { ...plain(answers), note };
}

function dyeOffers({ step, settings }: StepContext): Answer[] {
  return (settings.offers[step.step] ?? []).map((value, index) => doseAnswer(step, value, index === 0));
}

function doseAnswer(step: Step, value: Value, isFirst: boolean): Answer {
  const [drug = "", strength = "", volume = "", dose = ""] = doseText(step, value).split(", ");
  const label = isFirst ? liveText.pick.read(strength, volume) : `${strength}, ${volume}`;
  return { label, detail: liveText.pick.dose(drug, dose), value };
}

function openingCount({ step, settings }: StepContext): Answers {
  const field = step.fields.find(({ type }) => type === "counts")?.name ?? "items";
  return plain([
    {
      label: liveText.pick.tray,
      detail: countsText(settings.tray),
      value: { [field]: { ...settings.tray } },
    },
  ]);
}

function closingCount({ step, ledger }: StepContext): Answers {
  const rule = step.count;
  const opening = rule ? lastRecord(ledger, rule.opening)?.value[rule.items] : undefined;
  if (!rule || !isObject(opening)) return { first: null, others: [], note: null };
  const words = countsText(opening);
  return plain([
    {
      label: liveText.pick.allLike(words),
      detail: liveText.pick.nothingAdded,
      value: { [rule.added]: {}, [rule.out]: { ...opening } },
    },
  ]);
}

function upperFirst(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** True when the slabs say all that the fields can hold, so that there is nothing else to enter. */
export function coversAll(step: Step, { first, others }: Answers): boolean {
  const answers = first === null ? others : [first, ...others];
  return editedFields(step, false).every((field) => {
    if (answers.some(({ thenAsk }) => thenAsk === field.name)) return true;
    const said = new Set(answers.map(({ value }) => value[field.name]));
    if (field.type === "boolean") return said.has(true) && said.has(false);
    return field.type === "one_of" && (field.choices ?? []).every((choice) => said.has(choice));
  });
}
