/** The head of a case page: eye plate, case, time since incision, practice, and where the record is. */
import type { Eye } from "../../core/caseFile.ts";
import { liveText } from "../text/en.ts";
import { EyePlate } from "./EyePlate.tsx";
import { KeepingMark } from "./KeepingMark.tsx";

export interface HeadProps {
  readonly eye: Eye;
  readonly name: string;
  /** "2:24", or null before the incision. */
  readonly since: string | null;
  readonly isPractice: boolean;
}

export function Head({ eye, name, since, isPractice }: HeadProps) {
  return (
    <header class="head">
      <EyePlate eye={eye} />
      <span>{name}</span>
      {isPractice ? <b class="practice">{liveText.practice}</b> : null}
      <span class="since">{since === null ? liveText.beforeIncision : liveText.since(since)}</span>
      <span class="push">
        <KeepingMark />
      </span>
    </header>
  );
}
