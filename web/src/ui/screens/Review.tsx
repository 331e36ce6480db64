/** The review: every deviation with its ring, the surgeon's answers, and the signature at the end. */
import { useState } from "preact/hooks";

import { act, answer } from "../acts.ts";
import { span, timeOfDay } from "../format/times.ts";
import type { Deviation } from "../../core/judge/deviation.ts";
import { entryText } from "../model/entryText.ts";
import { textOf } from "../format/jsonParts.ts";
import { AnswerForm } from "../parts/AnswerForm.tsx";
import { EyePlate } from "../parts/EyePlate.tsx";
import { GradeRing } from "../parts/GradeRing.tsx";
import { useFocusKept, useFocusOnce } from "../parts/focus.ts";
import { KeepingMark } from "../parts/KeepingMark.tsx";
import { ProblemLine } from "../parts/ProblemLine.tsx";
import { SignForm } from "../parts/SignForm.tsx";
import { LinkSlab, Slab } from "../parts/Slab.tsx";
import { close_ms, incision_ms, isSigned, stepNamed, type OpenCase } from "../model/openCase.ts";
import { goneAnswers, reviewRows, type AnswerDraft, type ReviewRow } from "../model/review.ts";
import { to } from "../route.ts";
import { kindWords, liveText, reviewText, wordFor } from "../text/en.ts";

export function Review({ open }: { readonly open: OpenCase }) {
  const { view, ledger } = open;
  const [chosen, setChosen] = useState<string | null>(null);
  const rows = reviewRows(view.closed.deviations, ledger);
  const openRows = rows.filter(({ isAnswered }) => !isAnswered);
  const current = rows.find(({ deviation }) => deviation.key === chosen) ?? openRows[0] ?? null;
  const give = async (row: ReviewRow, answers: AnswerDraft) => {
    const { key, grade } = row.deviation;
    if (await act(answer(view.caseId, key, grade, answers), reviewText.answersStored)) setChosen(null);
  };
  return (
    <main id="main" class={open.view.meta.practice ? "review is-practice" : "review"}>
      <ReviewHead open={open} />
      <Signed open={open} />
      <Flags open={open} />
      {rows.length === 0 ? (
        <p>
          {reviewText.none} <small class="quiet-text">{reviewText.noneHint}</small>
        </p>
      ) : (
        <div class="review-parts">
          <ol class="deviations" aria-label={reviewText.list}>
            {rows.map((row) => (
              <DeviationRow
                key={row.deviation.key}
                open={open}
                row={row}
                isCurrent={row === current}
                onOpen={() => setChosen(row.deviation.key)}
              />
            ))}
          </ol>
          {current === null ? null : (
            <Answering
              key={current.deviation.key}
              row={current}
              onAnswers={(answers) => void give(current, answers)}
            />
          )}
        </div>
      )}
      <Gone open={open} />
      <SignPart open={open} toGive={openRows.length} />
      <ProblemLine />
      <nav class="other" aria-label={liveText.otherSlabs}>
        <LinkSlab href={to.live(view.caseId)} look="quiet">
          {reviewText.backToCase}
        </LinkSlab>
        <LinkSlab href={to.today} look="quiet">
          {reviewText.toList}
        </LinkSlab>
      </nav>
    </main>
  );
}

function ReviewHead({ open }: { readonly open: OpenCase }) {
  // Signing turns the page to its top, where it says so: the slab stood at its lower end.
  const heading = useFocusOnce<HTMLHeadingElement>(`${open.view.caseId} ${isSigned(open)}`);
  const start = incision_ms(open);
  const end = close_ms(open);
  return (
    <header class="head review-head">
      <h1 ref={heading} tabIndex={-1}>
        {isSigned(open) ? reviewText.signedTitle(open.name) : reviewText.title(open.name)}
      </h1>
      <EyePlate eye={open.view.caseFile.plan.eye} />
      <span>{open.view.meta.reference}</span>
      {open.view.meta.practice ? <b class="practice">{liveText.practice}</b> : null}
      {start === null || end === null ? null : <span>{reviewText.closed(span(start, end))}</span>}
      <span class="push">
        <KeepingMark />
      </span>
    </header>
  );
}

function Signed({ open }: { readonly open: OpenCase }) {
  const { view } = open;
  if (!isSigned(open) || view.meta.sign_off === null) return null;
  return (
    <p class="signed" role="status">
      <b>
        {view.signedBeforeLater
          ? reviewText.signedBefore
          : reviewText.signedAt(timeOfDay(view.meta.sign_off.at_ms, view.meta.time_zone))}
      </b>
      {view.signedBeforeLater ? <small>{reviewText.signedBeforeHint}</small> : null}
    </p>
  );
}

function Flags({ open }: { readonly open: OpenCase }) {
  const { closed, meta } = open.view;
  const flags: Readonly<Record<string, string>> = reviewText.flags;
  return (
    <>
      {closed.flags.includes("burst") ? <p class="caution">{reviewText.burst}</p> : null}
      {closed.unread > 0 ? <p class="caution">{reviewText.unread(closed.unread)}</p> : null}
      {meta.flags.map((flag) => (
        <p key={flag} class="caution">
          {flags[flag] ?? flag}
        </p>
      ))}
    </>
  );
}

interface DeviationRowProps {
  readonly open: OpenCase;
  readonly row: ReviewRow;
  readonly isCurrent: boolean;
  readonly onOpen: () => void;
}

function DeviationRow({ open, row, isCurrent, onOpen }: DeviationRowProps) {
  const { deviation } = row;
  const name = stepNamed(open.protocol, deviation.step)?.key_word ?? reviewText.caseLevel;
  const what = `${name}: ${wordFor(kindWords, deviation.kind).toLowerCase()}`;
  return (
    <li class={`deviation ${isCurrent ? "current" : ""} ${row.isAnswered ? "answered" : ""}`}>
      <button
        type="button"
        class="deviation-open"
        aria-current={isCurrent ? "true" : undefined}
        onClick={onOpen}
      >
        <GradeRing grade={deviation.grade} />
        <span>
          <b>
            {[
              gradeWords(open, deviation.grade),
              ...(deviation.caught ? [reviewText.caught] : []),
              stateOf(row),
            ].join(", ")}
          </b>
          <small>{what}</small>
          <small>{detailOf(open, deviation)}</small>
        </span>
      </button>
    </li>
  );
}

/** The judge's detail; of what happened beside the steps, what was tapped and the words that were written. */
function detailOf({ ledger }: OpenCase, { key, detail }: Deviation): string {
  const entry = ledger.find(({ id }) => key === `${key.split("/").slice(0, 2).join("/")}/${id}`);
  if (entry === undefined) return detail;
  const words = textOf(entry.event["text"]);
  return words === ""
    ? entryText(entry, null, entry.value)
    : `${entryText(entry, null, entry.value)}: ${words}`;
}

function gradeWords(open: OpenCase, grade: keyof OpenCase["protocol"]["grade_words"]): string {
  return reviewText.grade(grade, open.protocol.grade_words[grade]);
}

function stateOf({ isAnswered, isReopened, deviation }: ReviewRow): string {
  if (isReopened) return reviewText.reopened;
  if (!isAnswered) return reviewText.toAnswer;
  return deviation.grade === "G1" ? reviewText.seenDone : reviewText.answered;
}

interface AnsweringProps {
  readonly row: ReviewRow;
  readonly onAnswers: (answers: AnswerDraft) => void;
}

function Answering({ row, onAnswers }: AnsweringProps) {
  const { key, grade, detail } = row.deviation;
  const start = useFocusKept<HTMLDivElement>(key);
  return (
    <div ref={start} tabIndex={-1}>
      {grade === "G1" ? (
        <Slab
          label={reviewText.seen}
          detail={detail}
          look="go"
          strung
          onPress={() => onAnswers({ happened: true })}
        />
      ) : (
        <AnswerForm row={row} onAnswers={onAnswers} />
      )}
    </div>
  );
}

function Gone({ open }: { readonly open: OpenCase }) {
  const keys = goneAnswers(open.view.closed.deviations, open.ledger);
  return keys.length === 0 ? null : (
    <p class="caution">
      {reviewText.goneAnswers}: {keys.join(", ")}
    </p>
  );
}

function SignPart({ open, toGive }: { readonly open: OpenCase; readonly toGive: number }) {
  const { view } = open;
  if (isSigned(open) && !view.signedBeforeLater) return null;
  return (
    <SignForm
      caseId={view.caseId}
      answersToGive={toGive}
      label={view.signedBeforeLater ? reviewText.signAgain : reviewText.signNow}
    />
  );
}
