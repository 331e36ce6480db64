/**
 * Conditions of the protocol file: small expressions over the facts of a case, true or false.
 *
 * Two-valued: an absent value equals nothing and is neither above nor below anything; `not` turns that round.
 * `check` refuses any expression that it does not wholly understand; `holds` then never fails on facts.
 */
import { InvalidInput } from "./errors.ts";
import { asText, isObject, type Json } from "./json.ts";

export type Facts = Readonly<Record<string, unknown>>;
export type Expression = readonly Json[];

export const FACTS = [
  "plan",
  "torn",
  "every_drug_barred",
  "dye_barred_by_planned_lens",
  "fixed",
  "records",
  "last",
  "not_done",
  "it",
] as const;

const MANY = 99;
/** Operator to least and most operands, and whether these are expressions themselves. */
const OPERATORS: ReadonlyMap<string, readonly [number, number, boolean]> = new Map([
  ["lit", [1, 1, false]],
  ["ref", [1, MANY, false]],
  ["==", [2, 2, true]],
  [">", [2, 2, true]],
  [">=", [2, 2, true]],
  ["<", [2, 2, true]],
  ["<=", [2, 2, true]],
  ["and", [1, MANY, true]],
  ["or", [1, MANY, true]],
  ["not", [1, 1, true]],
  ["in", [2, 2, true]],
  ["any", [2, 2, true]],
  ["count", [2, 2, true]],
]);

/** Raises InvalidInput unless `expression` is wholly understood. */
export function check(expression: Json, where: string): void {
  if (!Array.isArray(expression) || typeof expression[0] !== "string") {
    throw new InvalidInput(where, "no expression", "a list that begins with an operator");
  }
  const [operator, ...operands] = expression as [string, ...Json[]];
  const known = OPERATORS.get(operator);
  if (known === undefined) {
    throw new InvalidInput(where, `the operator ${operator}`, `one of ${[...OPERATORS.keys()].join(", ")}`);
  }
  const [least, most, nested] = known;
  if (operands.length < least || operands.length > most) {
    throw new InvalidInput(where, `${operands.length} operands of ${operator}`, `${least} to ${most}`);
  }
  if (operator === "lit" && (typeof operands[0] === "object" || operands[0] === undefined)) {
    throw new InvalidInput(where, "another literal", "true, false, a whole number or text");
  }
  if (operator === "ref" && !FACTS.some((fact) => fact === operands[0])) {
    throw new InvalidInput(where, `the fact ${asText(operands[0])}`, `one of ${FACTS.join(", ")}`);
  }
  if (nested) for (const operand of operands) check(operand, where);
}

/** True only where the condition is met. */
export function holds(condition: Expression, facts: Facts): boolean {
  return evaluate(condition, facts) === true;
}

function evaluate(expression: Json | undefined, facts: Facts): unknown {
  const [operator, ...operands] = expression as [string, ...Json[]];
  const value = (at: number): unknown => evaluate(operands[at], facts);
  switch (operator) {
    case "lit":
      return operands[0];
    case "ref":
      return lookUp(facts, operands);
    case "==":
      return isEqual(value(0), value(1));
    case ">":
    case ">=":
    case "<":
    case "<=":
      return compare(operator, value(0), value(1));
    case "and":
      return operands.every((part) => evaluate(part, facts) === true);
    case "or":
      return operands.some((part) => evaluate(part, facts) === true);
    case "not":
      return value(0) !== true;
    case "in":
      return contains(value(0), value(1));
    case "any":
      return matches(value(0), operands[1], facts) > 0;
    default:
      return matches(value(0), operands[1], facts);
  }
}

function lookUp(facts: Facts, path: readonly Json[]): unknown {
  let value: unknown = facts;
  for (const name of path) {
    value = isObject(value) && Object.hasOwn(value, asText(name)) ? value[asText(name)] : undefined;
  }
  return value;
}

function isEqual(a: unknown, b: unknown): boolean {
  return a !== undefined && a !== null && a === b;
}

function compare(operator: string, a: unknown, b: unknown): boolean {
  if (typeof a !== "number" || typeof b !== "number") return false;
  if (operator === ">") return a > b;
  if (operator === ">=") return a >= b;
  return operator === "<" ? a < b : a <= b;
}

function contains(wanted: unknown, items: unknown): boolean {
  return Array.isArray(items) && items.some((item) => isEqual(item, wanted));
}

function matches(items: unknown, test: Json | undefined, facts: Facts): number {
  if (!Array.isArray(items)) return 0;
  return items.filter((it: unknown) => evaluate(test, { ...facts, it }) === true).length;
}
