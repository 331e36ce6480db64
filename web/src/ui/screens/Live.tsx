/** The live case: one step large, just recorded above with its undo, next below, answers as slabs at the bottom. */
import { useState } from "preact/hooks";

import { replaceWith, to } from "../route.ts";
import { AnswerPart } from "../parts/AnswerPart.tsx";
import { Asked, NextLine, questionOf, whoIsAsked } from "../parts/AskedStep.tsx";
import { Head } from "../parts/Head.tsx";
import { LastEntry } from "../parts/LastEntry.tsx";
import { ProblemLine } from "../parts/ProblemLine.tsx";
import { EndSlabs, RoomQuestion } from "../parts/RoomQuestion.tsx";
import { LinkSlab } from "../parts/Slab.tsx";
import { StepPicture } from "../parts/StepPicture.tsx";
import { Strip } from "../parts/Strip.tsx";
import { WhenRow } from "../parts/WhenRow.tsx";
import { courseOf, type Asked as AskedItem } from "../model/course.ts";
import { lastEntered } from "../model/ledger.ts";
import { incision_ms, isSigned, type OpenCase } from "../model/openCase.ts";
import { nowMs } from "../../state/index.ts";
import { span } from "../format/times.ts";
import { liveText } from "../text/en.ts";

export interface LiveProps {
  readonly open: OpenCase;
  /** A step opened by hand from the steps page, or null. */
  readonly opened: string | null;
  /** Room questions that "not yet" was said to. */
  readonly postponed: ReadonlySet<string>;
  readonly onPostpone: (postponed: ReadonlySet<string>) => void;
}

export function Live({ open, opened, postponed, onPostpone }: LiveProps) {
  const [ago_ms, setAgo] = useState(0);
  const { protocol, ledger, due } = open;
  const course = courseOf({ protocol, ledger, due, opened, postponed });
  const { asked } = course;
  const caseId = open.view.caseId;
  // A step opened by hand may have happened earlier; one that is read again after STOP happens now.
  const isAfterwards = opened !== null && lastEntered(ledger)?.step !== opened;
  const after = () => {
    setAgo(0);
    if (opened !== null) replaceWith(to.live(caseId));
  };
  return (
    <main id="main" class={open.view.meta.practice ? "live is-practice" : "live"}>
      <CaseHead open={open} />
      <Strip course={course} />
      <LastEntry open={open} />
      <AskedPart open={open} asked={asked} />
      <NextLine words={wordsOfNext(course.next)} />
      {asked.kind === "step" ? (
        <AnswerPart key={asked.step.step} open={open} step={asked.step} ago_ms={ago_ms} onStored={after} />
      ) : asked.kind === "room" ? (
        <RoomQuestion
          caseId={caseId}
          moment={asked.moment}
          onPostpone={() => onPostpone(withPostponed(postponed, asked.moment))}
        />
      ) : (
        <EndSlabs caseId={caseId} />
      )}
      {isAfterwards ? <WhenRow ago_ms={ago_ms} onChoose={setAgo} /> : null}
      <OtherSlabs caseId={caseId} asked={asked} blank={course.blankBefore} />
      <ProblemLine />
    </main>
  );
}

export function CaseHead({ open }: { readonly open: OpenCase }) {
  const start_ms = incision_ms(open);
  return (
    <Head
      eye={open.view.caseFile.plan.eye}
      name={open.name}
      since={start_ms === null ? null : span(start_ms, nowMs.value)}
      isPractice={open.view.meta.practice}
    />
  );
}

/** "Not yet" once asks again when the first phase has passed; twice leaves the question to the steps page. */
function withPostponed(postponed: ReadonlySet<string>, moment: string): ReadonlySet<string> {
  return new Set([...postponed, postponed.has(moment) ? `${moment} again` : moment]);
}

function wordsOfNext(next: AskedItem): string {
  return next.kind === "step" ? next.step.key_word : liveText.end.go;
}

function AskedPart({ open, asked }: { readonly open: OpenCase; readonly asked: AskedItem }) {
  if (asked.kind === "step") {
    const { step } = asked;
    return (
      <Asked who={whoIsAsked(step)} keyWord={step.key_word} question={questionOf(step)}>
        <StepPicture open={open} step={step} />
      </Asked>
    );
  }
  if (asked.kind === "room") {
    const isIn = asked.moment === "patient_in";
    const { key, question, outKey, outQuestion } = liveText.patient;
    return (
      <Asked
        who={liveText.ask(["circulating"])}
        keyWord={isIn ? key : outKey}
        question={isIn ? question : outQuestion}
      />
    );
  }
  const { key, question, signedKey, signedQuestion } = liveText.end;
  return isSigned(open) ? (
    <Asked who={liveText.ask(["surgeon"])} keyWord={signedKey} question={signedQuestion} />
  ) : (
    <Asked who={liveText.ask(["surgeon"])} keyWord={key} question={question} />
  );
}

interface OtherSlabsProps {
  readonly caseId: string;
  readonly asked: AskedItem;
  readonly blank: number;
}

function OtherSlabs({ caseId, asked, blank }: OtherSlabsProps) {
  return (
    <nav class="other" aria-label={liveText.otherSlabs}>
      {asked.kind === "step" ? (
        <LinkSlab href={to.notDone(caseId, asked.step.step)} look="quiet">
          {liveText.notDone}
        </LinkSlab>
      ) : null}
      <LinkSlab href={to.happened(caseId)} look="quiet">
        {liveText.happened}
      </LinkSlab>
      <LinkSlab href={to.steps(caseId)} look="quiet">
        {liveText.allSteps(blank)}
      </LinkSlab>
      <LinkSlab href={to.today} look="quiet">
        {liveText.leaveCase}
      </LinkSlab>
    </nav>
  );
}
