/** The answers of a step as slabs: the common one full width, near values in one row, honest answers like any other. */
import type { Answer, Answers } from "../model/answers.ts";
import { liveText } from "../text/en.ts";
import { CommonSlab, Slab } from "./Slab.tsx";

export interface AnswerSlabsProps {
  readonly answers: Answers;
  readonly onAnswer: (answer: Answer) => void;
  /** Opens the editor; null where the slabs are all there is. */
  readonly onOther: (() => void) | null;
}

export function AnswerSlabs({ answers, onAnswer, onOther }: AnswerSlabsProps) {
  const { first, others, note } = answers;
  const near = others.filter((answer) => answer.isNear === true);
  const pairs = others.filter((answer) => answer.isNear !== true);
  const otherInRow = near.length > 0 && onOther !== null;
  return (
    <nav class="answers" aria-label={liveText.answers}>
      {note === null ? null : <p class="caution wide">{note}</p>}
      {first === null ? null : (
        <CommonSlab label={first.label} detail={first.detail} onPress={() => onAnswer(first)} />
      )}
      {near.length === 0 ? null : (
        <div class="values">
          {near.map((answer) => (
            <Slab key={answer.label} label={answer.label} look="mid" onPress={() => onAnswer(answer)} />
          ))}
          {otherInRow ? <Slab label={liveText.otherValue} look="mid other-value" onPress={onOther} /> : null}
        </div>
      )}
      {pairs.map((answer) => (
        <Slab
          key={answer.label}
          label={answer.label}
          detail={answer.detail}
          look={pairLook(pairs.length)}
          onPress={() => onAnswer(answer)}
        />
      ))}
      {onOther === null || otherInRow ? null : (
        <Slab label={liveText.otherValue} look="pair other-value" onPress={onOther} />
      )}
    </nav>
  );
}

function pairLook(count: number): string {
  return count === 1 ? "pair half" : "pair";
}
