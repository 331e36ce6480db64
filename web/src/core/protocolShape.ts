/** Shapes: small checks that a JSON value holds exactly what is expected, and nothing that is not understood. */
import { InvalidInput } from "./errors.ts";
import { asText, isObject, type Json, type JsonObject } from "./json.ts";

export type Shape = ((value: Json, where: string) => void) & { readonly isOptional?: true };
export type Members = Readonly<Record<string, Shape>>;

export const GRADES = ["G1", "G2", "G3", "G4"] as const;

function kind(name: "boolean" | "number" | "string", expected: string): Shape {
  return (value, where) => {
    if (typeof value !== name) throw new InvalidInput(where, "another kind of value", expected);
  };
}

export const boolean = kind("boolean", "true or false");
export const whole = kind("number", "a whole number");
export const text = kind("string", "text");

/** Whatever stands there. */
export const anything: Shape = () => undefined;

export function oneOf(...words: readonly string[]): Shape {
  return (value, where) => {
    if (typeof value !== "string" || !words.includes(value)) {
      throw new InvalidInput(where, asText(value), `one of ${words.join(", ")}`);
    }
  };
}

export const grade = oneOf(...GRADES);

export function list(item: Shape, length?: number): Shape {
  return (value, where) => {
    if (!Array.isArray(value) || (length !== undefined && value.length !== length)) {
      throw new InvalidInput(where, "no such list", length === undefined ? "a list" : `a list of ${length}`);
    }
    value.forEach((child: Json, at) => item(child, `${where}[${at}]`));
  };
}

export const texts = list(text);

export function map(item: Shape): Shape {
  return (value, where) => {
    for (const [name, child] of Object.entries(object(value, where))) item(child, `${where}.${name}`);
  };
}

export function either(...shapes: readonly Shape[]): Shape {
  return (value, where) => {
    const fits = shapes.some((shape) => {
      try {
        shape(value, where);
        return true;
      } catch {
        return false;
      }
    });
    if (!fits) throw new InvalidInput(where, "another kind of value", "a value that is known here");
  };
}

/** Marks a member of `exact` that may be absent. */
export function optional(shape: Shape): Shape {
  return Object.assign((value: Json, where: string) => shape(value, where), { isOptional: true as const });
}

/** An object with these members and no other, but for those of the shape `others` where that is given. */
export function exact(members: Members, others?: Shape): Shape {
  return (value, where) => {
    const found = object(value, where);
    for (const [name, child] of Object.entries(found)) {
      if (Object.hasOwn(members, name)) continue;
      if (others !== undefined) others(child, `${where}.${name}`);
      else {
        throw new InvalidInput(
          `${where}.${name}`,
          "a member that this version does not know",
          "only known members",
        );
      }
    }
    for (const [name, shape] of Object.entries(members)) {
      const child = Object.hasOwn(found, name) ? found[name] : undefined;
      if (child !== undefined) shape(child, `${where}.${name}`);
      else if (shape.isOptional !== true) throw new InvalidInput(`${where}.${name}`, "nothing", "a value");
    }
  };
}

/** An object whose `rule` names one of `rules` and that holds exactly what that rule needs. */
export function byRule(rules: Readonly<Record<string, Members>>): Shape {
  return (value, where) => {
    exact({ rule: oneOf(...Object.keys(rules)) }, anything)(value, where);
    const rule = asText(object(value, where)["rule"]);
    exact({ rule: text, ...rules[rule] })(value, where);
  };
}

function object(value: Json, where: string): JsonObject {
  if (!isObject(value)) throw new InvalidInput(where, "no object", "an object");
  return value;
}
