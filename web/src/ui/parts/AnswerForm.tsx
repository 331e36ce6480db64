/** The surgeon's answers to one deviation. Nothing is chosen before it is tapped, but the report where it is the rule. */
import { useState } from "preact/hooks";

import type { Json } from "../../core/json.ts";
import type { Deviation } from "../../core/judge/deviation.ts";
import {
  questionsOf,
  reportIsTheRule,
  unanswered,
  type AnswerDraft,
  type Question,
  type ReviewRow,
} from "../model/review.ts";
import { reviewText } from "../text/en.ts";
import { ChoiceRow } from "./Choice.tsx";
import { CommonSlab, NotYetSlab } from "./Slab.tsx";
import { TextField } from "./TextField.tsx";

export interface AnswerFormProps {
  readonly row: ReviewRow;
  readonly onAnswers: (answers: AnswerDraft) => void;
}

export function AnswerForm({ row, onAnswers }: AnswerFormProps) {
  const { deviation } = row;
  const [draft, setDraft] = useState<AnswerDraft>(() => startOf(row));
  const set = (question: Question, value: Json) => setDraft({ ...draft, [question]: value });
  const open = unanswered(deviation.grade, draft);
  return (
    <div class="answer-form" role="group" aria-label={reviewText.answersFor}>
      {questionsOf(deviation.grade).map((question) => (
        <QuestionRow
          key={question}
          question={question}
          draft={draft}
          deviation={deviation}
          onAnswer={(value) => set(question, value)}
        />
      ))}
      {open === 0 ? (
        <CommonSlab label={reviewText.storeAnswers} onPress={() => onAnswers(draft)} />
      ) : (
        <NotYetSlab label={reviewText.stillOf(open)} />
      )}
    </div>
  );
}

function startOf({ deviation, answer }: ReviewRow): AnswerDraft {
  const given = questionsOf(deviation.grade).flatMap((question): [Question, Json][] =>
    answer?.[question] === undefined ? [] : [[question, answer[question]]],
  );
  const report = reportIsTheRule(deviation) ? { report: true } : {};
  return { ...report, ...Object.fromEntries(given) };
}

interface QuestionRowProps {
  readonly question: Question;
  readonly draft: AnswerDraft;
  readonly deviation: Deviation;
  readonly onAnswer: (value: Json) => void;
}

function QuestionRow({ question, draft, deviation, onAnswer }: QuestionRowProps) {
  const value = draft[question];
  const hint = question === "report" && reportIsTheRule(deviation) ? reviewText.reportDefault : undefined;
  return (
    <>
      <ChoiceRow
        question={reviewText.questions[question]}
        hint={hint}
        choices={choicesOf(question)}
        chosen={value === undefined ? [] : [value]}
        onChoose={onAnswer}
        look="short"
      />
      {question === "done" ? <OwnWords value={value} onAnswer={onAnswer} /> : null}
    </>
  );
}

function OwnWords({
  value,
  onAnswer,
}: {
  readonly value: Json | undefined;
  readonly onAnswer: (value: Json) => void;
}) {
  const offered = reviewText.done.some((choice) => choice.value === value);
  const typed = typeof value === "string" && !offered ? value : "";
  return <TextField label={reviewText.doneOwn} value={typed} autoCapitalize="sentences" onInput={onAnswer} />;
}

const YES_NO = [
  { value: true, label: reviewText.yes },
  { value: false, label: reviewText.no },
] as const;

function choicesOf(question: Question): readonly { readonly value: Json; readonly label: string }[] {
  switch (question) {
    case "happened":
    case "reached_eye":
    case "aftercare":
    case "report":
      return YES_NO;
    case "done":
      return reviewText.done;
    case "harm":
      return reviewText.harm;
    case "told":
      return reviewText.told;
  }
}
