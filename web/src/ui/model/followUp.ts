/** What still has to be asked after a slab was tapped, before the value is whole. */
import type { Step } from "../../core/protocol.ts";
import { choiceWords, fieldWord, liveText, wordFor } from "../text/en.ts";
import type { StepContext } from "./answers.ts";
import { allergiesOf, type Value } from "./ledger.ts";

export interface FollowUp {
  readonly kind: "accept" | "hub" | "injury" | "noticed" | "field";
  readonly question: string;
  readonly choices: readonly { readonly label: string; readonly value: Value }[];
}

/** The next question for this value, or null when the value is whole. `thenAsk`: the field an answer asks next. */
export function followUpOf(context: StepContext, value: Value, thenAsk: string | undefined): FollowUp | null {
  const { step } = context;
  if (asksAcceptance(context, value)) return acceptance(context, value);
  if (asksHub(step, value)) return hub(step, value);
  if (value["detached"] === true && value["injury"] === undefined) {
    return { kind: "injury", question: liveText.pick.injury, choices: yesNo("injury", value) };
  }
  const mode = value["mode"];
  if (step.settings && typeof mode === "string" && !step.settings.allowed.includes(mode)) {
    if (value["noticed"] === undefined) return noticed(step, mode, value);
  }
  return thenAsk === undefined || value[thenAsk] !== undefined ? null : fieldQuestion(step, thenAsk, value);
}

function asksAcceptance({ protocol, step, ledger }: StepContext, value: Value): boolean {
  const { drug, allergy } = protocol.fixed.accept_aloud;
  const hasField = step.fields.some(({ name }) => name === "allergy_accepted");
  return (
    hasField &&
    value["drug"] === drug &&
    value["allergy_accepted"] === undefined &&
    allergiesOf(ledger).has(allergy)
  );
}

function acceptance({ protocol }: StepContext, value: Value): FollowUp {
  const drug = wordFor(choiceWords, protocol.fixed.accept_aloud.drug).toLowerCase();
  return {
    kind: "accept",
    question: liveText.pick.acceptQuestion(drug),
    choices: [
      { label: liveText.pick.acceptYes, value: { ...value, allergy_accepted: true } },
      { label: liveText.pick.acceptNo, value: { ...value, allergy_accepted: false } },
    ],
  };
}

/** An injection is never stored without the hub question; sutures alone and a drug not in the eye are none. */
export function asksHub(step: Step, value: Value): boolean {
  if (!step.asks_hub || value["hub_held"] !== undefined || value["in_eye"] === false) return false;
  return (
    step.sutures_field === undefined ||
    value[step.sutures_field] === undefined ||
    value["syringe_label"] !== undefined
  );
}

/** The hub question of a reading that is said to be in the eye already. */
export function hubQuestion(step: Step, reading: Value): FollowUp {
  const { in_eye: _drawnUp, ...value } = reading;
  const { choices, ...question } = hub(step, value);
  return { ...question, choices: choices.filter((choice) => choice.value["in_eye"] !== false) };
}

function hub(step: Step, value: Value): FollowUp {
  const inEye = step.fields.some(({ name }) => name === "in_eye");
  const given = inEye ? { ...value, in_eye: true } : value;
  const held = { ...given, lock_checked: true, hub_held: true };
  const choices: { label: string; value: Value }[] = [
    { label: liveText.pick.tight, value: held },
    { label: liveText.pick.lock, value: { ...held, lock_checked: false } },
    { label: liveText.pick.hub, value: { ...held, hub_held: false } },
    { label: liveText.pick.off, value: { ...held, detached: true } },
  ];
  if (inEye) choices.push({ label: liveText.pick.notInEye, value: { ...value, in_eye: false } });
  return { kind: "hub", question: liveText.pick.hubQuestion, choices };
}

function noticed(step: Step, mode: string, value: Value): FollowUp {
  const choices = step.fields.find(({ name }) => name === "noticed")?.choices ?? [];
  return {
    kind: "noticed",
    question: liveText.pick.wrongMode(wordFor(choiceWords, mode)),
    choices: choices.map((code) => ({
      label: wordFor(choiceWords, code),
      value: { ...value, noticed: code },
    })),
  };
}

function fieldQuestion(step: Step, name: string, value: Value): FollowUp | null {
  const field = step.fields.find((known) => known.name === name);
  if (!field) return null;
  const choices =
    field.type === "boolean"
      ? yesNo(name, value)
      : (field.choices ?? []).map((code) => ({
          label: wordFor(choiceWords, code),
          value: { ...value, [name]: code },
        }));
  return { kind: "field", question: fieldWord(step.step, name), choices };
}

function yesNo(name: string, value: Value): FollowUp["choices"] {
  return [
    { label: liveText.editor.no, value: { ...value, [name]: false } },
    { label: liveText.editor.yes, value: { ...value, [name]: true } },
  ];
}
