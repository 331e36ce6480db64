/** What the screens do: each act waits until it is stored, says so in the status region, or keeps the reason in view. */
import { signal } from "@preact/signals";

import type { Step } from "../core/protocol.ts";
import {
  recordOfList,
  recordStep,
  takeBack,
  takeBackOfList,
  type StoredEvent,
  type Tap,
} from "../flows/index.ts";
import { announce } from "./announce.ts";
import type { Entry, Value } from "./model/ledger.ts";
import type { OpenCase } from "./model/openCase.ts";
import { recorder } from "./recorder.ts";
import { liveText } from "./text/en.ts";

export {
  answer,
  applyUpdate,
  breach,
  complication,
  correctValue,
  enrol,
  fault,
  makePinKey,
  moveCase,
  notDone,
  notOperated,
  openOffList,
  openSlot,
  recordOfList,
  room,
  sendNow,
  sign,
} from "../flows/index.ts";

/** The last thing that could not be done; null once another was done. */
export const problem = signal<string | null>(null);

/** True when the work was done; `words` are said then, `failed` turns the reason into a sentence. */
export async function act(
  work: Promise<unknown>,
  words: string,
  failed: (why: string) => string = liveText.notStored,
): Promise<boolean> {
  try {
    await work;
    problem.value = null;
    announce(words);
    return true;
  } catch (error) {
    problem.value = failed(error instanceof Error ? error.message : String(error));
    return false;
  }
}

/** Who taps here, beside who said it. */
export function tapNow(said_by?: string): Tap {
  return { entered_by: recorder.value, ...(said_by === undefined ? {} : { said_by }) };
}

/** Records a step of the case; what is recorded once for a list goes to the list. */
export function record(open: OpenCase, step: Step, value: Value, ago_ms: number): Promise<StoredEvent> {
  const { caseId, meta } = open.view;
  const tap = { ...tapNow(step.confirms[0]), ago_ms };
  if (step.per_list && meta.list !== null) return recordOfList(meta.list, step.step, value, tap);
  return recordStep(caseId, step.step, value, tap);
}

const OF_LIST = "list-";

/** Takes an entry back, in the list where the list's own entry stands copied in the case. */
export function undo(open: OpenCase, { id }: Entry): Promise<StoredEvent> {
  const { caseId, meta } = open.view;
  if (meta.list !== null && id.startsWith(OF_LIST))
    return takeBackOfList(meta.list, id.slice(OF_LIST.length));
  return takeBack(caseId, id);
}
