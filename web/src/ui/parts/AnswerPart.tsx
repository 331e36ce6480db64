/** Answers of one step: slabs, then what an answer asks next, then the record. Used live and when correcting. */
import { useRef, useState } from "preact/hooks";

import type { Step } from "../../core/protocol.ts";
import { settings } from "../../state/index.ts";
import { act, record } from "../acts.ts";
import { recordText } from "../format/recordText.ts";
import { answersOf, coversAll, isLensReading, type Answer, type StepContext } from "../model/answers.ts";
import { followUpOf, type FollowUp } from "../model/followUp.ts";
import type { Value } from "../model/ledger.ts";
import type { OpenCase } from "../model/openCase.ts";
import { readingBeforeInjection, withKeptReason } from "../model/stops.ts";
import { liveText } from "../text/en.ts";
import { AnswerSlabs } from "./AnswerSlabs.tsx";
import { useFocusKept } from "./focus.ts";
import { LensPad } from "./LensPad.tsx";
import { Slab } from "./Slab.tsx";
import { ValueEditor } from "./ValueEditor.tsx";

export interface AnswerPartProps {
  readonly open: OpenCase;
  readonly step: Step;
  readonly ago_ms: number;
  readonly onStored: () => void;
}

export function AnswerPart({ open, step, ago_ms, onStored }: AnswerPartProps) {
  const store = async (value: Value) => {
    const stored = await act(record(open, step, value, ago_ms), liveText.recorded(recordText(step, value)));
    if (stored) onStored();
  };
  return <ValuePart open={open} step={step} start={null} onWhole={store} isLive />;
}

export interface ValuePartProps {
  readonly open: OpenCase;
  readonly step: Step;
  /** The record that is corrected: the editor opens with it; null for a new record. */
  readonly start: Value | null;
  readonly isLive: boolean;
  readonly onWhole: (value: Value) => Promise<void>;
}

/** Asks until the value is whole. A reading that would stop is stored before the injection is asked about. */
export function ValuePart({ open, step, start, isLive, onWhole }: ValuePartProps) {
  const context = contextOf(open, step);
  const [question, setQuestion] = useState<FollowUp | null>(null);
  const [isEditing, setEditing] = useState(false);
  const isBusy = useRef(false);
  const give = async (value: Value, thenAsk: string | undefined) => {
    const next = followUpOf(context, value, thenAsk);
    const early = isLive && next?.kind === "hub" ? readingBeforeInjection(open, step, value) : null;
    if (next !== null && early === null) {
      setQuestion(next);
      return;
    }
    if (isBusy.current) return; // a double tap stores once
    isBusy.current = true;
    await onWhole(early ?? (isLive ? withKeptReason(open, step, value) : value));
    isBusy.current = false;
    setQuestion(null);
  };
  const ready = (value: Value) => void give(value, undefined);
  if (question !== null) return <FollowUpSlabs question={question} onAnswer={ready} />;
  if (isLensReading(step)) return <LensPad step={step} models={settings.value.lens_models} onReady={ready} />;
  const answers = answersOf(context);
  if (isEditing || (answers.first === null && answers.others.length === 0)) {
    const shown = start ?? answers.first?.value ?? {};
    return (
      <EditorNav
        context={context}
        start={shown}
        isCorrecting={start !== null}
        note={answers.note}
        onReady={ready}
      />
    );
  }
  const onAnswer = (answer: Answer) => void give(answer.value, answer.thenAsk);
  return (
    <AnswerSlabs
      answers={answers}
      onAnswer={onAnswer}
      onOther={coversAll(step, answers) ? null : () => setEditing(true)}
    />
  );
}

function contextOf(open: OpenCase, step: Step): StepContext {
  const { protocol, ledger, unit, view } = open;
  return { protocol, step, ledger, unit, settings: settings.value, plannedDrug: view.caseFile.plan.drug };
}

interface EditorNavProps {
  readonly context: StepContext;
  readonly start: Value;
  readonly isCorrecting: boolean;
  readonly note: string | null;
  readonly onReady: (value: Value) => void;
}

function EditorNav({ note, ...editor }: EditorNavProps) {
  const start = useFocusKept<HTMLDivElement>("editor");
  return (
    <nav class="answers" aria-label={liveText.answers}>
      <div class="wide" ref={start} tabIndex={-1}>
        {note === null ? null : <p class="caution">{note}</p>}
        <ValueEditor {...editor} />
      </div>
    </nav>
  );
}

export function FollowUpSlabs({
  question,
  onAnswer,
}: {
  readonly question: FollowUp;
  readonly onAnswer: (value: Value) => void;
}) {
  const heading = useFocusKept<HTMLHeadingElement>(question.question);
  return (
    <nav class="answers" aria-label={question.question}>
      <h2 class="follow-up wide" ref={heading} tabIndex={-1}>
        {question.question}
      </h2>
      {question.choices.map(({ label, value }, index) => (
        <Slab
          key={label}
          label={label}
          look={index === 0 ? "go" : question.choices.length === 2 ? "pair wide" : "pair half"}
          strung={index === 0}
          onPress={() => onAnswer(value)}
        />
      ))}
    </nav>
  );
}
