/** Runs every shared test case of the fold (shared/vectors/fold); the server's runner runs the same ones. */
import { readFileSync, readdirSync } from "node:fs";

import { describe, expect, test } from "vitest";

import { canonicalText } from "../../src/core/canonical.ts";
import { fold } from "../../src/core/caseFold.ts";
import type { LogEvent } from "../../src/core/entry.ts";
import type { JsonObject } from "../../src/core/json.ts";
import { protocol } from "../support/draftCase.ts";

const FOLDER = new URL("../../../shared/vectors/fold/", import.meta.url);

interface Vector {
  readonly id: string;
  readonly reason: string;
  readonly source: string;
  readonly input: { readonly case: string; readonly entries: readonly Entry[] };
  readonly expect: { readonly case_file: JsonObject | null; readonly meta: JsonObject };
}

interface Entry {
  readonly device: string;
  readonly seq: number;
  readonly digest: string;
  readonly event: LogEvent;
  readonly texts: Readonly<Record<string, string>>;
}

const files = readdirSync(FOLDER).filter((name) => name.endsWith(".json"));
const vectors = files.flatMap((name) => {
  const file = JSON.parse(readFileSync(new URL(name, FOLDER), "utf8")) as {
    module: string;
    vectors: Vector[];
  };
  expect(Object.keys(file)).toEqual(["module", "about", "vectors"]);
  expect(file.module).toBe("fold");
  return file.vectors;
});

describe("the fold gives what the shared vectors say", () => {
  test.each(vectors.map((vector) => [vector.id, vector.reason, vector] as const))(
    "%s %s",
    (_id, _reason, vector) => {
      expect(Object.keys(vector)).toEqual(["id", "reason", "source", "input", "expect"]);
      const entries = vector.input.entries.map((entry) => ({
        ...entry,
        texts: new Map(Object.entries(entry.texts)),
      }));
      const { caseFile, meta } = fold(entries, vector.input.case, protocol);
      expect(JSON.parse(canonicalText({ case_file: caseFile, meta }))).toEqual(vector.expect);
    },
  );
});
