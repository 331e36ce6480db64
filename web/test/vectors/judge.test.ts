/** Runs every shared test case of the judge (shared/vectors/judge), and refuses a file that it does not wholly know. */
import { readFileSync, readdirSync } from "node:fs";

import { afterAll, describe, expect, test } from "vitest";

import { read } from "../../src/core/caseFile.ts";
import { InvalidInput } from "../../src/core/errors.ts";
import type { Deviation } from "../../src/core/judge/deviation.ts";
import { judge } from "../../src/core/judge/judge.ts";
import { parse } from "../../src/core/strictJson.ts";
import { fileText } from "../../src/review/fileText.ts";
import { protocol } from "../support/draftCase.ts";

const FOLDER = new URL("../../../shared/vectors/judge/", import.meta.url);
const DEVIATION = ["step", "kind", "grade", "key", "caught"] as const;

interface Vector {
  readonly id: string;
  readonly reason: string;
  readonly source: string;
  readonly options: { readonly open: boolean; readonly without_sign_off: boolean };
  readonly input: { readonly case_file?: unknown; readonly text?: string; readonly base64?: string };
  readonly expect: { readonly answer?: Answer; readonly problem?: { readonly where: string } };
}

interface Answer {
  readonly deviations: readonly Partial<Deviation>[];
  readonly flags: readonly string[];
  readonly unread: number;
  readonly hub_not_asked: number;
}

/** Throws unless `value` is an object with all of `required`, none beyond `optional`. */
function exact(value: unknown, where: string, required: readonly string[], optional: readonly string[] = []) {
  if (typeof value !== "object" || value === null) throw new Error(`${where}: not an object`);
  const names = Object.keys(value);
  const missing = required.filter((name) => !names.includes(name));
  const unknown = names.filter((name) => !required.includes(name) && !optional.includes(name));
  if (missing.length + unknown.length > 0) {
    throw new Error(`${where}: missing ${missing.join(", ")}; unknown ${unknown.join(", ")}`);
  }
}

function exactlyOne(value: object, where: string, names: readonly string[]): void {
  exact(value, where, [], names);
  if (Object.keys(value).length !== 1) throw new Error(`${where}: not exactly one of ${names.join(", ")}`);
}

function checkVector(vector: Vector, where: string): void {
  exact(vector, where, ["id", "reason", "source", "options", "input", "expect"]);
  exact(vector.options, `${where}.options`, ["open", "without_sign_off"]);
  exactlyOne(vector.input, `${where}.input`, ["case_file", "text", "base64"]);
  exactlyOne(vector.expect, `${where}.expect`, ["answer", "problem"]);
  const { answer, problem } = vector.expect;
  if (problem !== undefined) exact(problem, `${where}.problem`, ["where"]);
  if (answer === undefined) return;
  exact(answer, `${where}.answer`, ["deviations", "flags", "unread", "hub_not_asked"]);
  for (const deviation of answer.deviations) exact(deviation, `${where}.deviations`, DEVIATION, ["detail"]);
}

function vectorsOf(file: string): readonly Vector[] {
  const document: unknown = JSON.parse(readFileSync(new URL(file, FOLDER), "utf-8"));
  exact(document, file, ["$schema", "module", "about", "vectors"]);
  const { module, vectors } = document as { readonly module: unknown; readonly vectors: readonly Vector[] };
  if (module !== "judge" || !Array.isArray(vectors)) throw new Error(`${file}: no vectors of the judge`);
  vectors.forEach((vector: Vector, at) => checkVector(vector, `${file}[${at}]`));
  return vectors;
}

function bytesOf({ case_file, text, base64 }: Vector["input"]): Buffer {
  if (base64 !== undefined) return Buffer.from(base64, "base64");
  return Buffer.from(text ?? JSON.stringify(case_file), "utf-8");
}

/** What the judge says, with `detail` only where the expected deviation has one. */
function answerOf(vector: Vector, expected: Answer): Answer {
  const { open: isOpen, without_sign_off: withoutSignOff } = vector.options;
  const caseFile = read(parse(fileText(bytesOf(vector.input))), protocol);
  const { deviations, flags, unread, hubNotAsked } = judge(caseFile, protocol, { isOpen, withoutSignOff });
  const compared = deviations.map(({ detail, ...deviation }, at) =>
    expected.deviations[at]?.detail === undefined ? deviation : { ...deviation, detail },
  );
  return { deviations: compared, flags, unread, hub_not_asked: hubNotAsked };
}

function placeOf(vector: Vector): string {
  try {
    read(parse(fileText(bytesOf(vector.input))), protocol);
  } catch (error) {
    if (error instanceof InvalidInput) return error.message.split(": ")[0] ?? "";
    throw error;
  }
  return "nothing was refused";
}

const files = readdirSync(FOLDER).toSorted();
const ids: string[] = [];
let run = 0;

test("the folder holds vector files and nothing else", () => {
  expect(files.filter((file) => !file.endsWith(".json"))).toEqual([]);
  expect(files.length).toBeGreaterThan(0);
});

describe.each(files)("%s", (file) => {
  const vectors = vectorsOf(file);
  ids.push(...vectors.map(({ id }) => id));
  test.each(vectors.map((vector) => [vector.id, vector.reason, vector] as const))(
    "%s %s",
    (_id, _reason, vector) => {
      run += 1;
      const { answer, problem } = vector.expect;
      if (answer === undefined) expect(placeOf(vector)).toBe(problem?.where);
      else expect(answerOf(vector, answer)).toEqual(answer);
    },
  );
});

test("each id stands for one vector", () => {
  expect(ids.filter((id, at) => ids.indexOf(id) !== at)).toEqual([]);
});

afterAll(() => {
  process.stdout.write(`judge vectors run: ${run} of ${ids.length}\n`);
  if (run !== ids.length) throw new Error("some vectors of the judge were not run");
});
