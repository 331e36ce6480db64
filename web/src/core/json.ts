/** JSON values as types. Objects read by core/strictJson.ts have no prototype, so that no name is special. */
export type Json = null | boolean | number | string | readonly Json[] | JsonObject;

export interface JsonObject {
  readonly [name: string]: Json;
}

export function isObject(value: unknown): value is JsonObject {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

/** The member `name`, or undefined where it is not there; inherited names do not count. */
export function member(object: JsonObject, name: string): Json | undefined {
  return Object.hasOwn(object, name) ? object[name] : undefined;
}

/** A text as it is; anything else as JSON, so that it can stand in a message or be looked up in vain. */
export function asText(value: Json | undefined): string {
  return typeof value === "string" ? value : (JSON.stringify(value) ?? "");
}
