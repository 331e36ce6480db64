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

/**
 * What references may name: paths below `plan`, members of `fixed`, and the fields of each step. `words` holds what
 * may stand at "plan.eye", "rhexis.state" or "not_done.rhexis", where that is one of a list.
 */
export interface ConditionNames {
  readonly plan: readonly string[];
  readonly fixed: readonly string[];
  readonly fieldsOf: ReadonlyMap<string, readonly string[]>;
  readonly words: ReadonlyMap<string, readonly string[]>;
}

const MANY = 99;
/** Operator to least and most operands. */
const OPERATORS: ReadonlyMap<string, readonly [number, number]> = new Map([
  ["lit", [1, 1]],
  ["ref", [1, MANY]],
  ["==", [2, 2]],
  [">", [2, 2]],
  [">=", [2, 2]],
  ["<", [2, 2]],
  ["<=", [2, 2]],
  ["and", [1, MANY]],
  ["or", [1, MANY]],
  ["not", [1, 1]],
  ["in", [2, 2]],
  ["any", [2, 2]],
  ["count", [2, 2]],
]);

/** Raises InvalidInput unless `expression` is wholly understood. `of` is the step whose values `it` stands for. */
export function check(expression: Json | undefined, where: string, names: ConditionNames, of?: string): void {
  if (!Array.isArray(expression) || typeof expression[0] !== "string") {
    throw new InvalidInput(where, "no expression", "a list that begins with an operator");
  }
  const [operator, ...operands] = expression as [string, ...Json[]];
  const known = OPERATORS.get(operator);
  if (known === undefined) {
    throw new InvalidInput(where, `the operator ${operator}`, `one of ${[...OPERATORS.keys()].join(", ")}`);
  }
  const [least, most] = known;
  if (operands.length < least || operands.length > most) {
    throw new InvalidInput(where, `${operands.length} operands of ${operator}`, `${least} to ${most}`);
  }
  if (operator === "lit") checkLiteral(operands[0], where);
  else if (operator === "ref") checkReference(operands, where, names, of);
  else if (operator === "any" || operator === "count") {
    check(operands[0], where, names, of);
    check(operands[1], where, names, stepOf(operands[0], where));
  } else for (const operand of operands) check(operand, where, names, of);
  if (operator === "==" || operator === "in") checkWords(operands, where, names, of);
}

/** A word compared with what is one of a list must be in that list: else the condition could never be met. */
function checkWords(operands: readonly Json[], where: string, names: ConditionNames, of?: string): void {
  const parts = operands.map((operand) => (Array.isArray(operand) ? (operand as readonly Json[]) : []));
  const literal = parts.find(([operator]) => operator === "lit")?.[1];
  const reference = parts.find(([operator]) => operator === "ref");
  if (typeof literal !== "string" || reference === undefined) return;
  const [fact = "", ...below] = reference.slice(1).map(asText);
  const place = { last: below, it: [of ?? "", ...below] }[fact] ?? [fact, ...below];
  const words = names.words.get(place.join("."));
  if (words !== undefined && !words.includes(literal)) {
    throw new InvalidInput(where, literal, `one of ${words.join(", ")}`);
  }
}

function checkLiteral(value: Json | undefined, where: string): void {
  if (typeof value === "object" || value === undefined) {
    throw new InvalidInput(where, "another literal", "true, false, a whole number or text");
  }
}

/** The step whose values a list holds: only the records of a step have members of their own. */
function stepOf(list: Json | undefined, where: string): string {
  const [operator, fact, step] = Array.isArray(list) ? (list as readonly Json[]) : [];
  if (operator !== "ref" || fact !== "records") {
    throw new InvalidInput(where, "another list", "the records of a step");
  }
  return asText(step);
}

function checkReference(path: readonly Json[], where: string, names: ConditionNames, of?: string): void {
  const [fact = "", ...below] = path.map(asText);
  const step = fact === "it" ? of : below[0];
  const fields = step === undefined ? undefined : names.fieldsOf.get(step);
  const isKnown: Readonly<Record<string, () => boolean>> = {
    plan: () => names.plan.includes(below.join(".")),
    torn: () => below.length === 0,
    every_drug_barred: () => below.length === 0,
    dye_barred_by_planned_lens: () => below.length === 0,
    fixed: () => below.length === 1 && names.fixed.includes(below.join(".")),
    records: () => below.length === 1 && fields !== undefined,
    not_done: () => below.length === 1 && fields !== undefined,
    last: () => below.length === 2 && fields?.includes(below[1] ?? "") === true,
    it: () => below.length === 1 && fields?.includes(below[0] ?? "") === true,
  };
  if (!Object.hasOwn(isKnown, fact)) {
    throw new InvalidInput(where, `the fact ${fact}`, `one of ${Object.keys(isKnown).join(", ")}`);
  }
  if (isKnown[fact]?.() !== true) {
    throw new InvalidInput(
      where,
      `the reference ${[fact, ...below].join(".")}`,
      "a name that the file holds",
    );
  }
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
