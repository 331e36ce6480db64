/** Kind `count`: out equals opening plus added, in every category. */
import { expect, test } from "vitest";

import type { JsonObject } from "../../../src/core/json.ts";
import { draft } from "../../support/draftCase.ts";

const MAX = 9_007_199_254_740_991;

function counted(added: JsonObject, out: JsonObject, items: JsonObject = { sharps: 4, swabs: 2 }) {
  return draft().change("opening-count", { items }).change("closing-count", { added, out });
}

test.each<readonly [string, JsonObject, JsonObject, string | undefined]>([
  ["equal", {}, { sharps: 4, swabs: 2 }, undefined],
  ["added items come out too", { sharps: 2 }, { sharps: 6, swabs: 2 }, undefined],
  ["one short", {}, { sharps: 3, swabs: 2 }, "G3"],
  ["one too many", {}, { sharps: 5, swabs: 2 }, "G3"],
  ["a category left out is 0", {}, { sharps: 4 }, "G3"],
  ["totals agree but categories do not", {}, { sharps: 3, swabs: 3 }, "G3"],
  ["a new category", {}, { sharps: 4, swabs: 2, cannulas: 1 }, "G3"],
  ["a new category of none", {}, { sharps: 4, swabs: 2, cannulas: 0 }, undefined],
  ["added in a new category", { cannulas: 1 }, { sharps: 4, swabs: 2, cannulas: 1 }, undefined],
])("%s", (_name, added, out, grade) => {
  expect(counted(added, out).found("closing-count/count")).toBe(grade);
});

test("a category with the name of a built-in one is a category like any other", () => {
  const named = JSON.parse('{"__proto__":1,"constructor":2}') as JsonObject;
  expect(counted({}, named, named).all()).toEqual([]);
  expect(counted({}, { constructor: 2 }, named).found("closing-count/count")).toBe("G3");
});

test("put right by a recount: G2 and caught", () => {
  const again = counted({}, { sharps: 3, swabs: 2 });
  const value = { added: {}, out: { sharps: 4, swabs: 2 } };
  again.record("closing-count", value, again.at("closing-count") + 1);
  expect(again.found("closing-count/count")).toBe("G2 caught");
  again.record("closing-count", { added: {} }, again.at("closing-count") + 2);
  expect(again.found("closing-count/count")).toBe("G2 caught");
});

test("right first and wrong last: G3", () => {
  const last = draft();
  last.record("closing-count", { added: {}, out: {} }, last.at("closing-count") + 1);
  expect(last.found("closing-count/count")).toBe("G3");
});

test("the last opening count is the reference", () => {
  const two = counted({}, { sharps: 5 });
  two.record("opening-count", { items: { sharps: 5 } }, two.at("opening-count") + 1);
  expect(two.found("closing-count/count")).toBeUndefined();
});

test("without an opening count, or with one that lacks its items, nothing is compared", () => {
  expect(counted({}, {}).without("opening-count").found("closing-count/count")).toBeUndefined();
  const empty = counted({}, {}).record("opening-count", {}, draft().at("opening-count") + 1);
  expect(empty.found("closing-count/count")).toBeUndefined();
});

test("an item found retained is G4 and never caught, whatever the numbers", () => {
  const retained = { found_retained: true };
  expect(draft().change("closing-count", retained).found("closing-count/count")).toBe("G4");
  expect(
    draft().without("opening-count").change("closing-count", retained).found("closing-count/count"),
  ).toBe("G4");
  const put = draft().change("closing-count", { out: undefined, ...retained });
  put.record("closing-count", { added: {}, out: { sharps: 4, swabs: 2 } }, put.at("closing-count") + 1);
  expect(put.found("closing-count/count")).toBe("G4");
});

test("sums beyond 2^53 stay exact", () => {
  const items = { sharps: MAX };
  expect(counted({ sharps: 1 }, { sharps: MAX }, items).found("closing-count/count")).toBe("G3");
  expect(counted({ sharps: MAX }, { sharps: 0 }, { sharps: -MAX }).all()).toEqual([]);
});
