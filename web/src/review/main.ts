/**
 * The command `review`: case files in, one JSON line for each, in name order; exit status 1 where one had a problem.
 * Started in the folder where the command was typed (build_steps/review.mjs).
 */
import phacoCataract from "../../../shared/protocol/phaco-cataract.json";
import { read } from "../core/caseFile.ts";
import { InvalidInput } from "../core/errors.ts";
import type { Judgement } from "../core/judge/deviation.ts";
import { judge } from "../core/judge/judge.ts";
import { load, type Protocol } from "../core/protocol.ts";
import { parse } from "../core/strictJson.ts";
import { fileText } from "./fileText.ts";
import { bytesOf, filesOf } from "./files.ts";

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
      lines.push(JSON.stringify({ file: path.toString("utf-8"), problem: problem.message }));
      status = 1;
    }
  }
  process.stdout.write(lines.map((line) => `${line}\n`).join(""));
  return status;
}

function judged(path: Buffer, protocol: Protocol, isOpen: boolean) {
  const caseFile = read(parse(fileText(bytesOf(path))), protocol);
  return reviewLine(caseFile.case, judge(caseFile, protocol, { isOpen }));
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
