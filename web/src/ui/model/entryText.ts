/** Any entry of a case in a few words, in the row above the asked step and in lists of the record. */
import { textOf } from "../format/jsonParts.ts";
import type { Step } from "../../core/protocol.ts";
import { recordText } from "../format/recordText.ts";
import { complications, liveText, reasonWords, wordFor } from "../text/en.ts";
import { type Entry, type Value } from "./ledger.ts";

/** `value`: the entry's value as it stands, or as it was first entered. */
export function entryText(entry: Entry, step: Step | null, value: Value): string {
  const { event } = entry;
  const name = step?.key_word ?? entry.step ?? "";
  switch (entry.type) {
    case "step":
      return step === null ? name : recordText(step, value);
    case "not_done":
      return liveText.reason.recorded(name, wordFor(reasonWords, textOf(event["reason"])));
    case "room":
      return event["moment"] === "patient_in" ? liveText.patient.inDone : liveText.patient.outDone;
    case "fault":
      return liveText.what.fault(
        (event["stage"] === "before" ? liveText.what.before : liveText.what.during).toLowerCase(),
      );
    case "breach":
      return liveText.what.breach(event["reached_eye"] === true);
    case "complication": {
      const what = textOf(event["what"]);
      return (
        complications.find((known) => known.what === what)?.label ?? (what === "" ? liveText.what.else : what)
      );
    }
    default:
      return entry.type;
  }
}
