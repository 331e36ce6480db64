/** Which files `review` reads, and how their bytes become text. */
import { mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

import { afterAll, beforeAll, expect, test } from "vitest";

import { InvalidInput } from "../../src/core/errors.ts";
import { fileText } from "../../src/review/fileText.ts";
import { bytesOf, filesOf } from "../../src/review/files.ts";

let folder = "";

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "review-"));
  mkdirSync(join(folder, "inner"));
  mkdirSync(join(folder, "folder.json"));
  for (const name of ["b.json", "B.json", "é.json", ".hidden.json", "c.JSON", "note.txt", "inner/d.json"]) {
    writeFileSync(join(folder, name), "{}");
  }
  writeFileSync(Buffer.concat([Buffer.from(`${folder}/z`), Buffer.from([0xff]), Buffer.from(".json")]), "{}");
  symlinkSync("nowhere", join(folder, "broken.json"));
  symlinkSync("ring.json", join(folder, "ring.json"));
});

afterAll(() => rmSync(folder, { recursive: true }));

function shown(...paths: readonly string[]): readonly string[] {
  return filesOf(paths).map((path) => path.toString("utf-8").replace(folder, ""));
}

test("a folder gives its own case files, in the order of the bytes of their names", () => {
  expect(shown(folder)).toEqual(["/B.json", "/b.json", "/z\ufffd.json", "/é.json"]);
  expect(shown(`${folder}/`)).toEqual(shown(folder));
});

test("a file in a folder reads also where its name is not UTF-8", () => {
  expect(filesOf([folder]).map((path) => bytesOf(path).toString())).toEqual(["{}", "{}", "{}", "{}"]);
});

test("each path is read once", () => {
  expect(shown(folder, `${folder}/b.json`, `${folder}/b.json`)).toEqual(shown(folder));
});

test("a file that is named is read whatever its name is", () => {
  expect(shown(`${folder}/note.txt`, `${folder}/.hidden.json`)).toEqual(["/.hidden.json", "/note.txt"]);
});

test.each([
  ["missing.json", "no such file"],
  ["broken.json", "no such file"],
  ["ring.json", "a file that cannot be read"],
  ["inner", "a file that cannot be read"],
])("%s is told as a problem", (name, found) => {
  expect(() => bytesOf(Buffer.from(join(folder, name)))).toThrow(
    new InvalidInput("file", found, "a case file"),
  );
});

test.each([
  ["a byte that no text has", [0x22, 0xff, 0x22], 1],
  ["a character cut short", [0x22, 0xe2, 0x82], 1],
  ["a long form of a slash", [0xc0, 0xaf], 0],
  ["half a surrogate pair", [0xed, 0xa0, 0x80], 0],
  ["a point beyond the last", [0x41, 0xf4, 0x90, 0x80, 0x80], 1],
  ["a bad byte behind the sign for bad bytes", [0xef, 0xbf, 0xbd, 0xff], 3],
])("%s is not UTF-8", (_name, bytes, at) => {
  expect(() => fileText(Buffer.from(bytes))).toThrow(`byte ${at}: found bytes that are not UTF-8`);
});

test("a byte order mark stays in the text, for the reader to refuse", () => {
  expect(fileText(Buffer.from([0xef, 0xbb, 0xbf, 0x31]))).toBe("\ufeff1");
});
