/** What was recorded, in a few words: "Main wound 2.2 mm", "Viscoelastic: tight and held". */
import type { JsonObject } from "../../core/json.ts";
import type { Field, Step } from "../../core/protocol.ts";
import { booleanWords, choiceWords, fieldWord, shownText, wordFor } from "../text/en.ts";
import { chainOf, doseOf, massText, strengthText } from "./dose.ts";
import { textOf } from "./jsonParts.ts";
import { digitsOf, quantity } from "./quantities.ts";
import { unitOf } from "./units.ts";

type Value = JsonObject;

const BESIDE_THE_READING = new Set(["kept_because", "kept_by"]);
const HUB = new Set(["lock_checked", "hub_held", "detached", "injury"]);

export function recordText(step: Step, value: Value): string {
  const words = valueText(step, value);
  const name = step.key_word.replace(/\?$/, "");
  if (words === "") return name;
  return step.fields.length === 1 && /^[\d+\u2212]/.test(words) ? `${name} ${words}` : `${name}: ${words}`;
}

/** The value alone, as it stands on a slab. */
export function valueText(step: Step, value: Value): string {
  const answer = answerLike(step, value);
  if (answer !== null) return lowerFirst(answer);
  if (step.settings) return settingText(value);
  if (step.dose) return doseText(step, value);
  return step.fields
    .map((field) => fieldText(step, field, value))
    .filter((text) => text !== "")
    .join(", ");
}

/** The label of the protocol's answer that says the same, with what was asked after it. */
function answerLike(step: Step, value: Value): string | null {
  for (const answer of step.answers ?? []) {
    const extra = Object.keys(value).filter(
      (name) => !(name in answer.value) && !BESIDE_THE_READING.has(name),
    );
    const same = Object.entries(answer.value).every(([name, wanted]) => isSame(value[name], wanted));
    const asked = answer.then_ask;
    if (!same || extra.some((name) => name !== asked) || Object.keys(answer.value).length === 0) continue;
    const field = step.fields.find(({ name }) => name === asked);
    if (field === undefined || !(field.name in value)) return answer.label;
    const more =
      field.name === "injury"
        ? booleanText("injury", "", value["injury"] === true)
        : fieldText(step, field, value);
    return `${answer.label}, ${lowerFirst(more)}`;
  }
  return null;
}

function isSame(a: unknown, b: unknown): boolean {
  return JSON.stringify(a) === JSON.stringify(b);
}

/** "Segment, 350 mmHg and 35 mL/min". */
export function settingText(value: Value): string {
  return setting(value, quantity);
}

/** "Segment, 350 and 35": short, as it is called aloud and stands on a slab. */
export function settingCall(value: Value): string {
  return setting(value, (whole, name) => digitsOf(whole, unitOf(name)));
}

function setting(value: Value, shown: (whole: number, name: string) => string): string {
  const numbers = ["vacuum_mmhg", "flow_ul_min"].flatMap((name) => {
    const number = value[name];
    return typeof number === "number" ? [shown(number, name)] : [];
  });
  const mode = wordFor(choiceWords, textOf(value["mode"]));
  const seen = value["vitreous"] === true ? shownText.vitreous : "";
  return [mode, numbers.join(shownText.and), seen].filter((part) => part !== "").join(", ");
}

/** Drug, strength, volume and mass always together, and whether the hub was held. */
export function doseText(step: Step, value: Value): string {
  const name = value[step.dose?.of ?? "drug"];
  const drug = typeof name === "string" ? wordFor(choiceWords, name) : "";
  const volume = typeof value["volume_ul"] === "number" ? quantity(value["volume_ul"], "volume_ul") : "";
  const mass = doseOf(value);
  const parts = [drug, strengthText(chainOf(value)), volume, mass === null ? "" : massText(mass)];
  if (value["in_eye"] === false) parts.push(shownText.notInEye);
  return [...parts, hubText(value)].filter((part) => part !== "").join(", ");
}

function hubText(value: Value): string {
  const notes = [];
  if (value["lock_checked"] === false) notes.push(shownText.hub.lock);
  if (value["hub_held"] === false) notes.push(shownText.hub.hub);
  if (value["detached"] === true) notes.push(shownText.hub.off);
  if (value["injury"] === true) notes.push(shownText.hub.injured);
  if (notes.length === 0 && value["hub_held"] === true) notes.push(shownText.hub.held);
  return notes.join(", ");
}

/** One field of a value in words; empty when it was not entered. */
export function fieldText(step: Step, field: Field, value: Value): string {
  const found = value[field.name];
  if (found === undefined || found === null || BESIDE_THE_READING.has(field.name)) return "";
  if (HUB.has(field.name)) return field.name === "hub_held" ? hubText(value) : "";
  const label = fieldWord(step.step, field.name).replace(/\?$/, "");
  switch (field.type) {
    case "boolean":
      return booleanText(field.name, label, found === true);
    case "whole":
      return typeof found === "number" ? wholeText(step, field, label, found) : "";
    case "text":
    case "one_of":
      return typeof found === "string" ? wordFor(choiceWords, found) : "";
    case "day":
      return typeof found === "string" ? `${lowerFirst(label)} ${found}` : "";
    case "some_of":
      return Array.isArray(found) ? found.map((code) => wordFor(choiceWords, String(code))).join(", ") : "";
    case "counts":
      return countsText(found, step.fields.length > 1 ? label : "");
    case "dilutions":
      return "";
  }
}

function booleanText(name: string, label: string, isYes: boolean): string {
  const words = Object.hasOwn(booleanWords, name) ? booleanWords[name] : undefined;
  if (words !== undefined) return isYes ? words.yes : words.no;
  return `${lowerFirst(label)}: ${isYes ? shownText.yes : shownText.no}`;
}

function wholeText(step: Step, field: Field, label: string, whole: number): string {
  const text = quantity(whole, field.name);
  const first = step.fields.find(({ type }) => type === "whole");
  return first === field || text.includes("\u00a0") ? text : `${text} ${lowerFirst(label)}`;
}

/** "4 sharps, 5 cannulas", categories of 0 left out unless all are. */
export function countsText(counts: unknown, label = ""): string {
  if (typeof counts !== "object" || counts === null) return "";
  const parts = Object.entries(counts)
    .filter(([, count]) => typeof count === "number" && count > 0)
    .map(([category, count]) => `${String(count)} ${wordFor(choiceWords, category).toLowerCase()}`);
  const words = parts.length === 0 ? shownText.none : parts.join(", ");
  return label === "" ? words : `${lowerFirst(label)} ${words}`;
}

export function lowerFirst(text: string): string {
  return text.charAt(0).toLowerCase() + text.slice(1);
}
