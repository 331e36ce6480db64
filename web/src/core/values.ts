/** Plain checks on single JSON values, and the words for what was found instead. */
import { InvalidInput } from "./errors.ts";
import { isObject, type Json, type JsonObject } from "./json.ts";

const SHOWN_MAX = 40;

/** What stands there, in words that fit behind "found": nothing, null, true, 12, "text", a list, an object. */
export function describe(value: Json | undefined): string {
  if (value === undefined) return "nothing";
  if (typeof value === "string") {
    const points = [...value];
    return JSON.stringify(points.length <= SHOWN_MAX ? value : `${points.slice(0, SHOWN_MAX).join("")}…`);
  }
  if (typeof value !== "object" || value === null) return String(value);
  return Array.isArray(value) ? "a list" : "an object";
}

export function needObject(value: Json | undefined, where: string): JsonObject {
  if (!isObject(value)) throw new InvalidInput(where, describe(value), "an object");
  return value;
}

export function needText(value: Json | undefined, where: string): string {
  if (typeof value !== "string") throw new InvalidInput(where, describe(value), "text");
  return value;
}

export function needWhole(value: Json | undefined, where: string): number {
  if (typeof value !== "number") throw new InvalidInput(where, describe(value), "a whole number");
  return value;
}

export function needBoolean(value: Json | undefined, where: string): boolean {
  if (typeof value !== "boolean") throw new InvalidInput(where, describe(value), "true or false");
  return value;
}

export function needChoice(value: Json | undefined, where: string, choices: readonly string[]): string {
  if (typeof value !== "string" || !choices.includes(value)) {
    throw new InvalidInput(where, describe(value), `one of ${choices.join(", ")}`);
  }
  return value;
}
