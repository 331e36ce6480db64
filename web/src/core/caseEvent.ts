/** The checks on single events of a case file: the envelope that every event has, then what its type adds. */
import type { CaseEvent } from "./caseFile.ts";
import { InvalidInput } from "./errors.ts";
import { asText, isObject, type Json, type JsonObject } from "./json.ts";
import { stepsOf, type Field, type Protocol, type Step } from "./protocol.ts";
import { GRADES } from "./protocolShape.ts";
import { describe, needBoolean, needChoice, needText } from "./values.ts";

export const ID = /^[A-Za-z0-9_-]+$/;
const DAY = /^([0-9]{4})-([0-9]{2})-([0-9]{2})$/;
const ANSWERS = ["happened", "reached_eye", "done", "harm", "aftercare", "told", "report"] as const;
const CHAIN = ["vial_ug", "diluent_ul", "then"] as const;

/** Returns the event. Raises InvalidInput at the first place where it could not stand in a case file. */
export function checkEvent(found: Json, where: string, protocol: Protocol): CaseEvent {
  if (!isObject(found)) throw new InvalidInput(where, describe(found), "an object");
  const id = found["id"];
  if (typeof id !== "string" || !ID.test(id)) {
    throw new InvalidInput(`${where}.id`, describe(id), "letters, digits, - and _");
  }
  needText(found["type"], `${where}.type`);
  for (const name of ["at_ms", "entered_ms"]) {
    if (typeof found[name] !== "number") {
      throw new InvalidInput(`${where}.${name}`, describe(found[name]), "a whole number");
    }
  }
  for (const name of ["said_by", "entered_by"])
    optional(found, where, name, (v, w) => needChoice(v, w, protocol.roles));
  const event = found as CaseEvent;
  checks.get(event.type)?.(event, where, protocol);
  return event;
}

/** Raises InvalidInput where a correction does not fit the event that it corrects; undefined waits for its event. */
export function checkCorrection(
  correction: CaseEvent,
  target: CaseEvent | undefined,
  where: string,
  protocol: Protocol,
): void {
  if (target === undefined) return;
  if (target.type === "correct") {
    throw new InvalidInput(`${where}.corrects`, "the id of a correction", "the id of another event");
  }
  const step = target.type === "step" ? stepsOf(protocol).get(asText(target["step"])) : undefined;
  const value = correction["value"];
  if (step !== undefined && isObject(value)) checkValue(value, step, `${where}.value`);
}

type Check = (event: CaseEvent, where: string, protocol: Protocol) => void;

function optional(
  event: JsonObject,
  where: string,
  name: string,
  check: (value: Json | undefined, where: string) => void,
) {
  if (Object.hasOwn(event, name)) check(event[name], `${where}.${name}`);
}

function checkStep(event: CaseEvent, where: string, protocol: Protocol): void {
  const name = needText(event["step"], `${where}.step`);
  const value = Object.hasOwn(event, "value") ? event["value"] : {};
  if (!isObject(value)) throw new InvalidInput(`${where}.value`, describe(value), "an object");
  const step = stepsOf(protocol).get(name);
  if (step !== undefined) checkValue(value, step, `${where}.value`);
}

function checkNotDone(event: CaseEvent, where: string): void {
  needText(event["step"], `${where}.step`);
  optional(event, where, "reason", needText);
}

function checkCorrect(event: CaseEvent, where: string): void {
  const corrects = event["corrects"];
  if (typeof corrects !== "string" || !ID.test(corrects)) {
    throw new InvalidInput(`${where}.corrects`, describe(corrects), "the id of an event");
  }
  const [hasValue, hasVoid] = [Object.hasOwn(event, "value"), Object.hasOwn(event, "void")];
  if (hasValue === hasVoid) {
    const found = hasVoid ? "both value and void" : "neither value nor void";
    throw new InvalidInput(where, found, "exactly one of value and void");
  }
  if (hasVoid && event["void"] !== true)
    throw new InvalidInput(`${where}.void`, describe(event["void"]), "true");
  if (hasValue && !isObject(event["value"])) {
    throw new InvalidInput(`${where}.value`, describe(event["value"]), "an object");
  }
}

function checkAnswer(event: CaseEvent, where: string): void {
  optional(event, where, "deviation", needText);
  optional(event, where, "grade", (value, place) => needChoice(value, place, GRADES));
  for (const name of ANSWERS) {
    if (event[name] === null) throw new InvalidInput(`${where}.${name}`, "null", "an answer");
  }
}

const checks: ReadonlyMap<string, Check> = new Map<string, Check>([
  ["step", checkStep],
  ["not_done", checkNotDone],
  ["correct", checkCorrect],
  [
    "room",
    (event, where) =>
      optional(event, where, "moment", (v, w) => needChoice(v, w, ["patient_in", "patient_out"])),
  ],
  [
    "fault",
    (event, where) => {
      optional(event, where, "stage", (v, w) => needChoice(v, w, ["before", "during"]));
      optional(event, where, "text", needText);
    },
  ],
  [
    "breach",
    (event, where) => {
      optional(event, where, "reached_eye", needBoolean);
      optional(event, where, "text", needText);
    },
  ],
  ["complication", (event, where) => optional(event, where, "what", needText)],
  ["answer", checkAnswer],
]);

function checkValue(value: JsonObject, step: Step, where: string): void {
  for (const field of step.fields) {
    if (!Object.hasOwn(value, field.name)) continue;
    const found = value[field.name] as Json;
    if (!fits(found, field))
      throw new InvalidInput(`${where}.${field.name}`, describe(found), expected(field));
  }
  const hasChain = step.dose?.chain === true && CHAIN.some((name) => Object.hasOwn(value, name));
  if (hasChain && Object.hasOwn(value, "strength_ug_ml")) {
    throw new InvalidInput(`${where}.strength_ug_ml`, "a strength beside a dilution chain", "one of the two");
  }
}

function fits(value: Json, field: Field): boolean {
  switch (field.type) {
    case "boolean":
      return typeof value === "boolean";
    case "whole":
      return typeof value === "number";
    case "text":
      return typeof value === "string";
    case "one_of":
      return isChoice(value, field);
    case "some_of":
      return Array.isArray(value) && value.every((choice: Json) => isChoice(choice, field));
    case "counts":
      return isObject(value) && Object.values(value).every((count) => typeof count === "number");
    case "dilutions":
      return Array.isArray(value) && value.every(isDilution);
    case "day":
      return isDay(value);
  }
}

function isChoice(value: Json, { choices }: Field): boolean {
  return typeof value === "string" && (choices ?? []).includes(value);
}

function isDilution(part: Json): boolean {
  return (
    isObject(part) &&
    ["take_ul", "add_ul"].every((name) => !Object.hasOwn(part, name) || typeof part[name] === "number")
  );
}

function isDay(value: Json): boolean {
  const parts = typeof value === "string" ? DAY.exec(value) : null;
  if (parts === null) return false;
  const [year = 0, month = 0, day = 0] = parts.slice(1).map(Number);
  const leap = year % 4 === 0 && (year % 100 !== 0 || year % 400 === 0);
  const days = [31, leap ? 29 : 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
  return year >= 1 && day >= 1 && day <= (days[month - 1] ?? 0);
}

const EXPECTED: Readonly<Record<Field["type"], string>> = {
  boolean: "true or false",
  whole: "a whole number",
  text: "text",
  one_of: "one of ",
  some_of: "a list of ",
  counts: "an object of whole numbers",
  dilutions: "a list of objects with take_ul and add_ul",
  day: "a day as YYYY-MM-DD",
};

function expected(field: Field): string {
  return EXPECTED[field.type] + (field.choices ?? []).join(", ");
}
