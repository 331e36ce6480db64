/** What was recorded last, with its age and its undo: ten seconds counted in words, then "Correct". */
import { liveText } from "../text/en.ts";
import { Hub } from "./Hub.tsx";
import { Slab } from "./Slab.tsx";

export const UNDO_S = 10;

export interface JustRecordedProps {
  readonly words: string;
  /** The words before a correction, struck through; null when nothing was corrected. */
  readonly before: string | null;
  readonly age: string;
  readonly isNotDone: boolean;
  readonly isTakenBack: boolean;
  /** Whole seconds of undo that are still there; 0 afterwards. */
  readonly undo_s: number;
  readonly onUndo: () => void;
  readonly onCorrect: () => void;
}

export function JustRecorded(props: JustRecordedProps) {
  const { words, before, isTakenBack, undo_s } = props;
  return (
    <section class="row done" aria-label={liveText.justRecorded}>
      <Hub state={props.isNotDone || isTakenBack ? "not_done" : "recorded"} />
      <p class="what">
        {before === null ? null : <del class="struck">{before}</del>}{" "}
        {isTakenBack ? <del class="struck">{words}</del> : words}
        <span>{isTakenBack ? liveText.takenBack : props.age}</span>
      </p>
      {isTakenBack ? null : (
        <UndoSlab {...{ words, undo_s, onUndo: props.onUndo, onCorrect: props.onCorrect }} />
      )}
    </section>
  );
}

type UndoSlabProps = Pick<JustRecordedProps, "words" | "undo_s" | "onUndo" | "onCorrect">;

/** One slab, so that the finger and the keyboard's focus stay where they are when undo turns into correct. */
function UndoSlab({ words, undo_s, onUndo, onCorrect }: UndoSlabProps) {
  const isUndo = undo_s > 0;
  const label = isUndo ? liveText.undo(undo_s) : liveText.correct;
  return (
    <Slab
      look="mid"
      label={label}
      read={liveText.ofEntry(label, words)}
      onPress={isUndo ? onUndo : onCorrect}
    />
  );
}

/** Before anything is recorded. */
export function NothingRecorded() {
  return (
    <section class="row done" aria-label={liveText.justRecorded}>
      <Hub state="blank" />
      <p class="what">{liveText.nothingYet}</p>
    </section>
  );
}
