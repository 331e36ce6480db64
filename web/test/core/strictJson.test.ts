/** Strict JSON: what is read, what is refused, and where. */
import { describe, expect, test } from "vitest";
import * as fc from "fast-check";

import { InvalidInput } from "../../src/core/errors.ts";
import { parse } from "../../src/core/strictJson.ts";

function problem(text: string): InvalidInput {
  try {
    parse(text);
  } catch (error) {
    if (error instanceof InvalidInput) return error;
    throw error;
  }
  throw new Error(`nothing was wrong with ${text}`);
}

describe("read", () => {
  test.each([
    ["null", null],
    [" true ", true],
    ["false", false],
    ["0", 0],
    ["-12", -12],
    ["9007199254740991", 9_007_199_254_740_991],
    ["-9007199254740991", -9_007_199_254_740_991],
    ['""', ""],
    ['"\\u0041\\n\\"\\\\\\/\\b\\f\\r\\t"', 'A\n"\\/\b\f\r\t'],
    ['"\\ud83d\\ude00"', "\u{1f600}"],
    ['"\u{1f600}\u2028\u007f"', "\u{1f600}\u2028\u007f"],
    ["[]", []],
    ["[1, [2]]", [1, [2]]],
    ["\t\r\n[ ]\n", []],
  ])("%s", (text, value) => {
    expect(parse(text)).toEqual(value);
  });

  test("-0 is 0", () => {
    expect(Object.is(parse("-0"), 0)).toBe(true);
  });

  test("members with the names of built-in ones are members like any other", () => {
    const text = '{"__proto__":1,"constructor":{"toString":2}}';
    expect(JSON.stringify(parse(text))).toBe(text);
  });

  test("depth 12", () => {
    expect(parse("[".repeat(12) + "]".repeat(12))).toBeInstanceOf(Array);
  });

  test("anything that JSON.stringify writes of whole numbers, texts, lists and objects", () => {
    const { value } = fc.letrec((tie) => ({
      value: fc.oneof(
        { maxDepth: 5 },
        fc.constantFrom(null, true, false),
        fc.maxSafeInteger(),
        fc.string({ unit: "grapheme" }),
        fc.array(tie("value"), { maxLength: 4 }),
        fc.dictionary(fc.string(), tie("value"), { maxKeys: 4 }),
      ),
    }));
    fc.assert(
      fc.property(value, fc.constantFrom(0, 1), (written, indent) => {
        const text = JSON.stringify(written, null, indent);
        expect(JSON.stringify(parse(text), null, indent)).toBe(text.replaceAll(/(?<![\w"])-0\b/g, "0"));
      }),
    );
  });
});

describe("refused", () => {
  test.each([
    ["", "line 1 column 1"],
    ["  ", "line 1 column 3"],
    ["\ufeff{}", "line 1 column 1"],
    ["{}x", "line 1 column 3"],
    ["{} {}", "line 1 column 4"],
    ["nul", "line 1 column 1"],
    ["NaN", "line 1 column 1"],
    ["[Infinity]", "line 1 column 2"],
    ["[-Infinity]", "line 1 column 2"],
    ["[1.0]", "line 1 column 2"],
    ["[1e2]", "line 1 column 2"],
    ["[1E2]", "line 1 column 2"],
    ["[01]", "line 1 column 3"],
    ["[+1]", "line 1 column 2"],
    ["[.5]", "line 1 column 2"],
    ["[-]", "line 1 column 2"],
    ["[9007199254740992]", "line 1 column 2"],
    ["[-9007199254740992]", "line 1 column 2"],
    [`[${"9".repeat(400)}]`, "line 1 column 2"],
    ["[1,]", "line 1 column 4"],
    ["[,1]", "line 1 column 2"],
    ["[1 2]", "line 1 column 4"],
    ["[1", "line 1 column 3"],
    ['{"a":1,}', "line 1 column 8"],
    ['{"a" 1}', "line 1 column 6"],
    ['{"a":}', "line 1 column 6"],
    ["{a:1}", "line 1 column 2"],
    ["{1:1}", "line 1 column 2"],
    ['{"a":1,"a":1}', "line 1 column 8"],
    ['{"a":1,"\\u0061":2}', "line 1 column 8"],
    ['{"__proto__":1,"__proto__":1}', "line 1 column 16"],
    ['{\n "a": 1,\n "b": 2,\n "a": 3}', "line 4 column 2"],
    ['"a', "line 1 column 3"],
    ['"\n"', "line 1 column 2"],
    ['"\t"', "line 1 column 2"],
    ['"\\x"', "line 1 column 2"],
    ['"\\u12g4"', "line 1 column 2"],
    ['"\\ud800"', "line 1 column 1"],
    ['"\\udc00\\ud800"', "line 1 column 1"],
    ['"\ud800"', "line 1 column 1"],
    ['{"\\ud800":1}', "line 1 column 2"],
    ["'a'", "line 1 column 1"],
    ["[1] // note", "line 1 column 5"],
    ["[\u00a01]", "line 1 column 2"],
    [`${"[".repeat(13)}${"]".repeat(13)}`, "line 1 column 13"],
    [`${'{"a":'.repeat(12)}[]${"}".repeat(12)}`, "line 1 column 61"],
    ['["\u{1f600}", x]', "line 1 column 7"],
  ])("%j at %s", (text, where) => {
    expect(problem(text).where).toBe(where);
  });

  test("every problem says what was found and what was expected", () => {
    expect(problem('{"a":1,"a":1}').message).toBe(
      'line 1 column 8: found the name "a" twice, expected each name once',
    );
    expect(problem("[".repeat(13)).message).toBe(
      "line 1 column 13: found depth 13, expected depth at most 12",
    );
  });

  test("any text cut short is refused, never half read", () => {
    const text = '{"a":[1,-2,true,null,"\\u00e9\\n"],"b":{"c":""}}';
    for (let at = 0; at < text.length; at += 1) {
      expect(problem(text.slice(0, at)).where).toMatch(/^line 1 column \d+$/);
    }
  });

  test("whatever is read, JSON.parse reads to the same value", () => {
    const pieces = fc.constantFrom(
      '{"a":',
      "}",
      "[",
      "]",
      ",",
      ":",
      '"',
      "\\",
      "u12aF",
      "-",
      "0",
      "12",
      " ",
      "true",
    );
    fc.assert(
      fc.property(fc.array(pieces, { maxLength: 12 }), (parts) => {
        const text = parts.join("");
        let value: unknown;
        try {
          value = parse(text);
        } catch (error) {
          expect(error).toBeInstanceOf(InvalidInput);
          return;
        }
        expect(JSON.stringify(value)).toBe(
          JSON.stringify(JSON.parse(text)).replaceAll(/(?<![\w"])-0\b/g, "0"),
        );
      }),
    );
  });
});
