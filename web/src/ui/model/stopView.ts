/** What the STOP screen shows for one record: the line, what was read above, what was planned below. */
import { textOf } from "../format/jsonParts.ts";
import type { Lens, Plan } from "../../core/caseFile.ts";
import { isSameLens, lensOf } from "../../core/judge/facts.ts";
import type { Protocol, Step } from "../../core/protocol.ts";
import { doseOf, timesText } from "../format/dose.ts";
import type { Fraction } from "../../core/fraction.ts";
import { dioptres, quantity } from "../format/quantities.ts";
import { choiceWords, liveText, shownText, wordFor } from "../text/en.ts";
import { allergiesOf, lastRecord, type Entry, type Value } from "./ledger.ts";
import { valueText } from "../format/recordText.ts";
import type { PendingStop } from "./stops.ts";
import type { UnitValues } from "../../core/unitValues.ts";

/** lens: digit under digit; dose: blocks of one planned dose; words: one word under the other. */
export type StopView =
  | {
      readonly kind: "lens";
      readonly line: string;
      readonly read: Lens;
      readonly plan: Lens;
      readonly note: string;
    }
  | {
      readonly kind: "dose";
      readonly line: string;
      readonly mass: Fraction;
      readonly planned_ug: number;
      readonly isMost: boolean;
    }
  | { readonly kind: "words"; readonly line: string; readonly read: string; readonly plan: string };

export interface StopContext {
  readonly protocol: Protocol;
  readonly step: Step;
  readonly value: Value;
  readonly at_ms: number;
  readonly plan: Plan;
  readonly ledger: readonly Entry[];
  readonly unit: UnitValues;
}

/** `kind` of deviation that the record raises, and the step `at` which it stands. */
export function stopViewOf(
  stop: Pick<PendingStop, "kind" | "at" | "detail">,
  context: StopContext,
): StopView {
  const { kind, at, detail } = stop;
  const other = at === context.step.step ? undefined : context.protocol.steps.find(({ step }) => step === at);
  // Not this reading itself: it changed what an earlier record is held against.
  if (other !== undefined) {
    return words(liveText.stop.lines.changes(other.key_word), valueText(context.step, context.value), detail);
  }
  if (kind === "dose") return doseView(context);
  if (kind === "contraindicated") return barredView(context);
  if (kind === "substitution") return unplannedView(context);
  return readbackView(context);
}

function readbackView(context: StopContext): StopView {
  const { step, value, plan, ledger } = context;
  const rule = step.readback;
  switch (rule?.rule) {
    case "lens":
      return lensView(context, rule.against);
    case "eye": {
      const marked = rule.against === "plan" ? null : lastRecord(ledger, rule.against)?.value["eye"];
      const planned = typeof marked === "string" ? marked : plan.eye;
      return words(liveText.stop.lines.eye, word(value["eye"]), word(planned));
    }
    case "label":
      return words(liveText.stop.lines.label, word(value[rule.field]), word(rule.label));
    case "unit_dye":
      return words(liveText.stop.lines.dye, word(value[rule.field]), word(context.unit.dye));
    case "true":
    case undefined:
      return words(liveText.stop.lines.identity, shownText.identity.read, shownText.identity.plan);
  }
}

function words(line: string, read: string, plan: string): StopView {
  return { kind: "words", line, read, plan };
}

function word(code: unknown): string {
  return typeof code === "string" ? wordFor(choiceWords, code) : "";
}

function lensView(context: StopContext, against: readonly string[]): StopView {
  const { step, value } = context;
  const read = lensOf(value);
  const plan = againstLens(context, against, read);
  if (read === null || plan === null) return words(liveText.stop.lines.lens, "", "");
  const isBox = against.length > 1;
  if (isSameLens(read, plan)) {
    return words(liveText.stop.lines.expired, shownText.useBy(textOf(value["expiry"])), step.prompt);
  }
  const model = read.model === plan.model ? liveText.stop.sameModel : liveText.stop.modelDiffers;
  const by = Math.abs(read.power_cdpt - plan.power_cdpt);
  const power =
    by === 0 ? liveText.stop.samePower : liveText.stop.powerDiffers(dioptres(by).replace("+", ""));
  const line = isBox ? liveText.stop.lines.box : liveText.stop.lines.lens;
  return { kind: "lens", line, read, plan, note: `${model} ${power}` };
}

/** The reference that the reading differs from: the new plan if there is one, else the plan, else what was read out. */
function againstLens(context: StopContext, against: readonly string[], read: Lens | null): Lens | null {
  const { plan, ledger, at_ms, protocol } = context;
  const spoken = (code: string) => {
    const earlier = ledger.filter((entry) => entry.at_ms <= at_ms);
    const record = protocol.steps.some(({ step }) => step === code) ? lastRecord(earlier, code) : null;
    return record ? lensOf(record.value) : null;
  };
  const newPlan = against.filter((code) => code !== "plan").find((code) => code.startsWith("new-"));
  const inForce = newPlan === undefined ? null : spoken(newPlan);
  if (inForce) return inForce;
  const lens = { model: plan.lens.model, power_cdpt: plan.lens.power_cdpt };
  if (read === null || !isSameLens(read, lens)) return lens;
  const others = against.filter((code) => code !== "plan" && code !== newPlan).map(spoken);
  return others.find((other) => other !== null && !isSameLens(read, other)) ?? lens;
}

function doseView(context: StopContext): StopView {
  const { step, value, unit } = context;
  const name = textOf(value[step.dose?.of ?? "drug"]);
  const isMost = step.dose?.of === "dye";
  const planned_ug = (isMost ? unit.dyes.get(name) : unit.drugs.get(name)?.dose_ug) ?? 0;
  const mass = doseOf(value);
  if (mass === null || planned_ug === 0)
    return words(liveText.stop.lines.drug, word(name), word(context.plan.drug));
  return { kind: "dose", line: doseLine(mass, planned_ug), mass, planned_ug, isMost };
}

const COUNT_WORDS = [
  "",
  "",
  "Two",
  "Three",
  "Four",
  "Five",
  "Six",
  "Seven",
  "Eight",
  "Nine",
  "Ten",
  "Eleven",
  "Twelve",
];

function doseLine(mass: Fraction, planned_ug: number): string {
  const times = timesText(mass, planned_ug);
  if (mass.numerator < mass.denominator * BigInt(planned_ug))
    return `${liveText.stop.lines.under}: ${times} times`;
  return liveText.stop.lines.times(COUNT_WORDS[Number(times)] ?? times);
}

function barredView(context: StopContext): StopView {
  const { protocol, step, value, unit, plan } = context;
  const rule = step.contraindicated;
  const name = textOf(value[rule?.field ?? "drug"]);
  if (rule?.rule === "dye")
    return words(liveText.stop.lines.barredDye, word(name), shownText.dryStateLens(plan.lens.model));
  if (rule?.rule === "antiseptic") {
    const named = name === "" ? protocol.fixed.usual_antiseptic : name;
    return words(
      liveText.stop.lines.antiseptic,
      word(named),
      shownText.recordedAllergy(word(protocol.fixed.antiseptic_barred_by).toLowerCase()),
    );
  }
  const barred = [...(unit.drugs.get(name)?.barredBy ?? [])];
  const allergies = allergiesOf(context.ledger);
  const met = barred.filter((allergy) => allergies.has(allergy)).map(word);
  if (met.length === 0) {
    const mild = word(protocol.fixed.accept_aloud.allergy);
    return words(liveText.stop.lines.notAccepted, word(name), shownText.recordedAllergy(mild.toLowerCase()));
  }
  return words(
    liveText.stop.lines.barredDrug,
    word(name),
    shownText.recordedAllergy(met.join(", ").toLowerCase()),
  );
}

const WARNED_OF = new Set(["vancomycin"]);

function unplannedView({ step, value, unit, plan }: StopContext): StopView {
  const isDye = step.dose?.of === "dye";
  const name = textOf(value[step.dose?.of ?? "drug"]);
  if (WARNED_OF.has(name.toLowerCase()))
    return words(liveText.stop.lines.vancomycin, word(name), word(plan.drug));
  return isDye
    ? words(liveText.stop.lines.dye, word(name), word(unit.dye))
    : words(liveText.stop.lines.drug, word(name), word(plan.drug));
}

/** Columns of two signed powers, digit under digit, and which of them differ. */
export function powerColumns(read_cdpt: number, plan_cdpt: number) {
  const width = Math.max(digitCount(read_cdpt), digitCount(plan_cdpt));
  const read = columnsOf(read_cdpt, width);
  const plan = columnsOf(plan_cdpt, width);
  return read.map((digit, index) => ({
    read: digit,
    plan: plan[index] ?? "",
    differs: digit !== plan[index],
  }));
}

function digitCount(power_cdpt: number): number {
  return String(Math.floor(Math.abs(power_cdpt) / 100)).length;
}

function columnsOf(power_cdpt: number, width: number): string[] {
  const text = quantity(power_cdpt, "power_cdpt").replace("\u00a0D", "");
  const [whole = "", decimals = ""] = text.slice(1).split(".");
  return [text.charAt(0), ...Array.from(whole.padStart(width, "\u2007")), ".", ...Array.from(decimals)];
}

/** Blocks of one planned dose that the reading fills, at most `most` drawn; the text says how many. */
export function blocksOf(mass: Fraction, planned_ug: number, most: number): readonly number[] {
  const thousandths = Number((mass.numerator * 1000n) / (mass.denominator * BigInt(planned_ug)));
  const full = Math.min(most, Math.floor(thousandths / 1000));
  const rest = full < most ? (thousandths % 1000) / 1000 : 0;
  return [...Array.from({ length: full }, () => 1), ...(rest > 0.02 ? [rest] : [])];
}
