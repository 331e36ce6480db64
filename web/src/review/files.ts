/** Which files `review` reads: paths as bytes, since a file's name need not be UTF-8. */
import { existsSync, readFileSync, readdirSync, statSync } from "node:fs";

import { InvalidInput } from "../core/errors.ts";

const ENDING = Buffer.from(".json");
const DOT = 0x2e;

/** Every path once, folders opened one level deep, in the order of the bytes of their names. */
export function filesOf(paths: readonly string[]): readonly Buffer[] {
  const sorted = paths.flatMap(expand).toSorted((a, b) => Buffer.compare(a, b));
  return sorted.filter((path, at) => sorted[at - 1]?.equals(path) !== true);
}

/** Raises InvalidInput where the file is not there or cannot be read. */
export function bytesOf(path: Buffer): Buffer {
  try {
    return readFileSync(path);
  } catch (problem) {
    const isMissing = problem instanceof Error && "code" in problem && problem.code === "ENOENT";
    throw new InvalidInput("file", isMissing ? "no such file" : "a file that cannot be read", "a case file");
  }
}

/** A folder's case files; a folder that cannot be opened stands for itself, and is told as a problem when it is read. */
function expand(path: string): readonly Buffer[] {
  if (!existsSync(path) || !statSync(path).isDirectory()) return [Buffer.from(path)];
  try {
    return readdirSync(path, { encoding: "buffer" })
      .filter((name) => name.subarray(-ENDING.length).equals(ENDING) && name[0] !== DOT)
      .map((name) => Buffer.concat([Buffer.from(`${path.replace(/\/+$/, "")}/`), name]))
      .filter((file) => existsSync(file) && statSync(file).isFile());
  } catch {
    return [Buffer.from(path)];
  }
}
