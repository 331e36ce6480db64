/** Reads parts of a JSON value without trusting its shape. */
import type { Json } from "../../core/json.ts";

export function isList(value: Json | undefined): value is readonly Json[] {
  return Array.isArray(value);
}

/** The text that stands there, empty where there is none. */
export function textOf(value: Json | undefined): string {
  return typeof value === "string" ? value : "";
}

/** The texts of a list, other members left out. */
export function textsOf(value: Json | undefined): readonly string[] {
  return isList(value) ? value.filter((item): item is string => typeof item === "string") : [];
}
