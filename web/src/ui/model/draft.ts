/** A value while it is being entered by hand: what was typed or chosen, and whether it can be stored yet. */
import { isObject, type Json, type JsonObject } from "../../core/json.ts";
import type { Field, Step } from "../../core/protocol.ts";
import { isList } from "../format/jsonParts.ts";
import { digitsOf } from "../format/quantities.ts";
import { possibleRange, readTyped, type RefuseBand } from "../format/typed.ts";
import { unitOf } from "../format/units.ts";
import { fieldWord, liveText } from "../text/en.ts";
import type { Value } from "./ledger.ts";

/** One dilution as typed. */
export interface StageDraft {
  readonly take_ul: string;
  readonly add_ul: string;
}

/** `typed`: texts and numbers by field, counts by "field.category"; `chosen`: booleans, choices and lists. */
export interface Draft {
  readonly typed: Readonly<Record<string, string>>;
  readonly chosen: JsonObject;
  readonly isChain: boolean;
  readonly stages: readonly StageDraft[];
}

/** `refused`: a sentence for each entry that cannot be; `missing`: labels of required fields not entered. */
export interface DraftReading {
  readonly value: Value;
  readonly missing: readonly string[];
  readonly refused: Readonly<Record<string, string>>;
}

const ASKED_AFTERWARDS = new Set(["kept_because", "kept_by", "noticed", "allergy_accepted"]);
const HUB = new Set(["lock_checked", "hub_held", "detached", "injury", "in_eye"]);
const CHAIN = new Set(["vial_ug", "diluent_ul", "then"]);

/** The fields that stand in the editor; hub, mode noticed and allergy are asked after it. */
export function editedFields(step: Step, isChain: boolean): readonly Field[] {
  const fields = step.fields.filter(({ name }) => {
    if (ASKED_AFTERWARDS.has(name) || (step.asks_hub && HUB.has(name))) return false;
    if (!step.dose?.chain) return true;
    return isChain ? name !== "strength_ug_ml" : !CHAIN.has(name);
  });
  // The volume is drawn up last, after the chain that the protocol file names behind it.
  return fields.toSorted((a, b) => Number(a.name === "volume_ul") - Number(b.name === "volume_ul"));
}

/** Required by the protocol, or by the chain that stands in place of a strength. */
export function isNeeded(field: Field, draft: Draft): boolean {
  return field.required || (draft.isChain && (field.name === "vial_ug" || field.name === "diluent_ul"));
}

/**
 * A draft that shows `value`. A new record takes only numbers of a measure or a count from the unit's offer:
 * nothing is chosen, and nothing read from a label stands there, before it is tapped or typed.
 */
export function draftOf(step: Step, value: Value, isCorrecting: boolean): Draft {
  const hasOffer = step.kind === "measure" || step.kind === "count";
  if (!isCorrecting && !hasOffer) return EMPTY;
  const { chosen, ...rest } = shownDraft(step, value);
  return { ...rest, chosen: isCorrecting ? chosen : {} };
}

const EMPTY: Draft = { typed: {}, chosen: {}, isChain: false, stages: [] };

function shownDraft(step: Step, value: Value): Draft {
  const typed: Record<string, string> = {};
  const chosen: Record<string, Json> = {};
  for (const { name, type } of step.fields) {
    const found = value[name];
    if (found === undefined) continue;
    if (type === "whole" && typeof found === "number") typed[name] = shown(found, name);
    else if ((type === "text" || type === "day") && typeof found === "string") typed[name] = found;
    else if (type === "counts") Object.assign(typed, typedCounts(name, found));
    else chosen[name] = found;
  }
  return { typed, chosen, isChain: value["vial_ug"] !== undefined, stages: stagesOf(value["then"]) };
}

function shown(whole: number, name: string): string {
  return digitsOf(whole, unitOf(name)).replace("\u2212", "-");
}

function typedCounts(name: string, counts: Json): Record<string, string> {
  const entries = isObject(counts) ? Object.entries(counts) : [];
  return Object.fromEntries(
    entries.map(([category, count]) => [
      `${name}.${category}`,
      typeof count === "number" ? String(count) : "",
    ]),
  );
}

function stagesOf(then: Json | undefined): StageDraft[] {
  if (!isList(then)) return [];
  return then.filter(isObject).map((stage) => ({
    take_ul: shown(Number(stage["take_ul"]), "take_ul"),
    add_ul: shown(Number(stage["add_ul"]), "add_ul"),
  }));
}

/** Reads the whole draft; `categories` are those of the count fields. */
export function readDraft(step: Step, draft: Draft, categories: readonly string[]): DraftReading {
  const value: Record<string, Json> = {};
  const refused: Record<string, string> = {};
  const missing: string[] = [];
  for (const field of editedFields(step, draft.isChain)) {
    const found = fieldValue(field, draft, categories, (name, text) => {
      refused[name] = refusal(fieldWord(step.step, field.name), text, field);
    });
    if (found !== undefined) value[field.name] = found;
    else if (isNeeded(field, draft)) missing.push(fieldWord(step.step, field.name));
  }
  return { value, missing, refused };
}

type Refuse = (name: string, typed: string) => void;

function fieldValue(
  field: Field,
  draft: Draft,
  categories: readonly string[],
  refuse: Refuse,
): Json | undefined {
  const text = draft.typed[field.name] ?? "";
  switch (field.type) {
    case "whole":
      return wholeOf(text, field.name, field.refuse ?? {}, (typed) => refuse(field.name, typed));
    case "text":
      return text.trim() === "" ? undefined : text.trim();
    case "day":
      if (text.trim() === "") return undefined;
      if (isDay(text.trim())) return text.trim();
      refuse(field.name, text);
      return undefined;
    case "boolean":
    case "one_of":
      return draft.chosen[field.name];
    case "some_of": {
      const some = draft.chosen[field.name];
      return isList(some) && some.length > 0 ? some : undefined;
    }
    case "counts":
      return countsOf(field, draft, categories, refuse);
    case "dilutions":
      return dilutionsOf(draft, refuse);
  }
}

function wholeOf(
  text: string,
  name: string,
  band: RefuseBand,
  refuse: (typed: string) => void,
): number | undefined {
  const reading = readTyped(text, name, band);
  if (reading.kind === "whole") return reading.whole;
  if (reading.kind !== "empty") refuse(text);
  return undefined;
}

function countsOf(field: Field, draft: Draft, categories: readonly string[], refuse: Refuse) {
  const counts: Record<string, number> = {};
  let isTouched = false;
  for (const category of categories) {
    const key = `${field.name}.${category}`;
    const text = draft.typed[key] ?? "";
    const count = wholeOf(text, key, field.refuse ?? {}, (typed) => refuse(key, typed));
    if (count !== undefined) counts[category] = count;
    isTouched ||= text !== "";
  }
  return isTouched ? counts : undefined;
}

function dilutionsOf(draft: Draft, refuse: Refuse) {
  if (!draft.isChain || draft.stages.length === 0) return undefined;
  const stages = draft.stages.flatMap((stage, index) => {
    const take_ul = wholeOf(stage.take_ul, "take_ul", { below: 1 }, (typed) =>
      refuse(`take_ul.${index}`, typed),
    );
    const add_ul = wholeOf(stage.add_ul, "add_ul", { below: 0 }, (typed) => refuse(`add_ul.${index}`, typed));
    return take_ul === undefined || add_ul === undefined ? [] : [{ take_ul, add_ul }];
  });
  if (stages.length === draft.stages.length) return stages;
  refuse("then", "");
  return undefined;
}

/** One line that names the field, what was typed and what is possible. */
export function refusal(label: string, typed: string, field: Field): string {
  if (field.type === "day") return liveText.editor.notADay(label, typed);
  const band = field.type === "dilutions" ? { below: 0 } : (field.refuse ?? {});
  const name = field.type === "dilutions" ? "take_ul" : field.name;
  const { kind } = readTyped(typed, name, band);
  if (kind === "not_a_number" || kind === "empty") return liveText.editor.notANumber(label, typed);
  return liveText.editor.refused(label, `${typed} ${unitOf(name).word}`.trim(), possibleRange(name, band));
}

/** A possible day, written YYYY-MM-DD. */
export function isDay(text: string): boolean {
  const parts = /^(\d{4})-(\d{2})-(\d{2})$/.exec(text);
  if (!parts) return false;
  const [, year = "", month = "", day = ""] = parts;
  const at = new Date(Date.UTC(Number(year), Number(month) - 1, Number(day)));
  return at.getUTCMonth() === Number(month) - 1 && at.getUTCDate() === Number(day) && Number(year) >= 1;
}

/** The next number up or down by one press, held to multiples; an unreadable text starts at `start`. */
export function pressed(text: string, name: string, direction: 1 | -1, start: number): string {
  const reading = readTyped(text, name);
  const { press } = unitOf(name);
  const now = reading.kind === "whole" ? reading.whole + direction * press : start;
  return shown(now, name);
}
