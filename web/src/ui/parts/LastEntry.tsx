/** The row of what was entered last in this case: words, age, undo for ten seconds, then correct. */
import { nowMs } from "../../state/index.ts";
import { act, undo } from "../acts.ts";
import { span, timeOfDay } from "../format/times.ts";
import { entryText } from "../model/entryText.ts";
import { lastEntered, type Entry } from "../model/ledger.ts";
import { stepNamed, type OpenCase } from "../model/openCase.ts";
import { goTo, to } from "../route.ts";
import { liveText } from "../text/en.ts";
import { JustRecorded, NothingRecorded, UNDO_S } from "./JustRecorded.tsx";

export function LastEntry({ open }: { readonly open: OpenCase }) {
  const entry = lastEntered(open.ledger);
  if (entry === null) return <NothingRecorded />;
  const step = entry.step === null ? null : stepNamed(open.protocol, entry.step);
  const words = entryText(entry, step, entry.value);
  const before = entry.corrected ? entryText(entry, step, entry.first) : null;
  const passed_s = Math.floor((nowMs.value - entry.entered_ms) / 1000);
  const caseId = open.view.caseId;
  return (
    <JustRecorded
      words={words}
      before={before === words ? null : before}
      age={ageOf(open, entry)}
      isNotDone={entry.type === "not_done"}
      isTakenBack={entry.voided}
      undo_s={entry.corrected ? 0 : Math.max(0, Math.min(UNDO_S, UNDO_S - passed_s))}
      onUndo={() => void act(undo(open, entry), liveText.backTaken(words))}
      onCorrect={() => goTo(to.correct(caseId, entry.id))}
    />
  );
}

function ageOf(open: OpenCase, entry: Entry): string {
  const zone = open.view.meta.time_zone;
  const isLate = entry.entered_ms - entry.at_ms >= 60_000;
  return isLate
    ? liveText.storedLate(timeOfDay(entry.at_ms, zone), timeOfDay(entry.entered_ms, zone))
    : liveText.stored(span(entry.entered_ms, nowMs.value));
}
