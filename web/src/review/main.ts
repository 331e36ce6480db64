/**
 * The command `review`: case files in, one JSON line for each, in name order; exit status 1 where one had a problem.
 * Started in the folder where the command was typed (build_steps/review.mjs).
 */
import { existsSync, readFileSync, readdirSync, statSync } from "node:fs";
import { join } from "node:path";

import phacoCataract from "../../../shared/protocol/phaco-cataract.json";
import { read } from "../core/caseFile.ts";
import { InvalidInput } from "../core/errors.ts";
import type { Judgement } from "../core/judge/deviation.ts";
import { judge } from "../core/judge/judge.ts";
import { load, type Protocol } from "../core/protocol.ts";
import { parse } from "../core/strictJson.ts";

function main(words: readonly string[]): number {
  const isOpen = words.includes("--open");
  const paths = words.filter((word) => word !== "--open");
  if (paths.length === 0) {
    process.stderr.write("review: name at least one case file or folder\n");
    return 2;
  }
  const protocol = load(phacoCataract);
  const lines: string[] = [];
  let status = 0;
  for (const path of filesOf(paths)) {
    try {
      lines.push(JSON.stringify(judged(path, protocol, isOpen)));
    } catch (problem) {
      if (!(problem instanceof InvalidInput)) throw problem;
      lines.push(JSON.stringify({ file: path, problem: problem.message }));
      status = 1;
    }
  }
  process.stdout.write(lines.map((line) => `${line}\n`).join(""));
  return status;
}

/** Every path once, folders opened one level deep, in the order of the bytes of their names. */
function filesOf(paths: readonly string[]): readonly string[] {
  return [...new Set(paths.flatMap(expand))].toSorted((a, b) =>
    Buffer.compare(Buffer.from(a), Buffer.from(b)),
  );
}

function expand(path: string): readonly string[] {
  if (!existsSync(path) || !statSync(path).isDirectory()) return [path];
  return readdirSync(path)
    .filter((name) => name.endsWith(".json") && !name.startsWith(".") && statSync(join(path, name)).isFile())
    .map((name) => `${path.replace(/\/+$/, "")}/${name}`);
}

function judged(path: string, protocol: Protocol, isOpen: boolean) {
  const caseFile = read(parse(textOf(path)), protocol);
  return reviewLine(caseFile.case, judge(caseFile, protocol, { isOpen }));
}

function textOf(path: string): string {
  return decode(bytesOf(path));
}

function bytesOf(path: string): Buffer {
  try {
    return readFileSync(path);
  } catch (problem) {
    const isMissing = problem instanceof Error && "code" in problem && problem.code === "ENOENT";
    throw new InvalidInput("file", isMissing ? "no such file" : "a file that cannot be read", "a case file");
  }
}

/** Strict UTF-8; the place of the first byte that is not is named. */
function decode(bytes: Buffer): string {
  try {
    return new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(bytes);
  } catch {
    throw new InvalidInput(`byte ${firstBadByte(bytes)}`, "bytes that are not UTF-8", "UTF-8");
  }
}

/** Where the longest prefix that is whole UTF-8 ends. */
function firstBadByte(bytes: Buffer): number {
  const whole = bytes.toString("utf-8");
  let at = 0;
  for (const character of whole) {
    const size = Buffer.byteLength(character);
    if (character === "\ufffd" && !bytes.subarray(at, at + size).equals(Buffer.from("\ufffd"))) return at;
    at += size;
  }
  return at;
}

function reviewLine(name: string | null, judgement: Judgement) {
  return {
    case: name,
    deviations: judgement.deviations.map(({ step, kind, grade, key, caught, detail }) => ({
      step,
      kind,
      grade,
      key,
      caught,
      detail,
    })),
    flags: judgement.flags,
    unread: judgement.unread,
    hub_not_asked: judgement.hubNotAsked,
  };
}

process.exitCode = main(process.argv.slice(2));
