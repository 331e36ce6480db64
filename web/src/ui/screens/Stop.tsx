/** STOP, full screen: what was read above, what was planned below, and three ways on. The reading is recorded already. */
import { useEffect, useState } from "preact/hooks";

import { act, correctValue, undo } from "../acts.ts";
import { announce } from "../announce.ts";
import { recordText } from "../format/recordText.ts";
import { hubQuestion } from "../model/followUp.ts";
import { FollowUpSlabs } from "../parts/AnswerPart.tsx";
import { useFocusKept, useFocusOnce } from "../parts/focus.ts";
import { ProblemLine } from "../parts/ProblemLine.tsx";
import { CommonSlab, Slab } from "../parts/Slab.tsx";
import { StopFrame } from "../parts/StopFrame.tsx";
import { WhyKept } from "../parts/WhyKept.tsx";
import type { OpenCase } from "../model/openCase.ts";
import type { PendingStop } from "../model/stops.ts";
import { stopViewOf } from "../model/stopView.ts";
import { goTo, to } from "../route.ts";
import { cautions, liveText } from "../text/en.ts";
import { CaseHead } from "./Live.tsx";

export interface StopProps {
  readonly open: OpenCase;
  readonly stop: PendingStop;
  /** Lets the asked step stand again for a second reading. */
  readonly onReadAgain: () => void;
}

const VIBRATION_MS = 200;

export function Stop({ open, stop, onReadAgain }: StopProps) {
  const [isKeeping, setKeeping] = useState(false);
  const [isInEye, setInEye] = useState(false);
  const { entry, step } = stop;
  const { protocol, ledger, unit, view } = open;
  const earlier = ledger.filter((other) => other.id !== entry.id);
  const shown = stopViewOf(stop, {
    protocol,
    step,
    value: entry.value,
    at_ms: entry.at_ms,
    plan: view.caseFile.plan,
    ledger: earlier,
    unit,
  });
  const heading = useFocusOnce<HTMLHeadingElement>(entry.id);
  useEffect(() => {
    announce(liveText.stop.announced(shown.line));
    if ("vibrate" in navigator && navigator.userActivation.hasBeenActive) navigator.vibrate(VIBRATION_MS);
  }, [entry.id]);
  return (
    <main id="main" class="stop">
      <CaseHead open={open} />
      <h1 class="stop-word" ref={heading} tabIndex={-1}>
        {liveText.stop.word}
        <span>{shown.line}</span>
      </h1>
      <StopFrame shown={shown} value={entry.value} />
      <p class="stop-note">
        {recordText(step, entry.value)}. {liveText.stop.recorded}
      </p>
      {shown.kind === "dose" ? <p class="caution">{cautions.dose}</p> : null}
      {isInEye ? (
        <FollowUpSlabs
          question={hubQuestion(step, entry.value)}
          onAnswer={(value) =>
            void act(correctValue(view.caseId, entry.id, value), liveText.recorded(liveText.stop.inEye))
          }
        />
      ) : isKeeping ? (
        <WhyKept
          onKeep={(why, who) =>
            void act(keep(open, stop, why, who), liveText.recorded(liveText.stop.keepNow))
          }
          onBack={() => setKeeping(false)}
        />
      ) : (
        <StopSlabs
          open={open}
          stop={stop}
          onReadAgain={onReadAgain}
          onKeep={() => setKeeping(true)}
          onInEye={() => setInEye(true)}
        />
      )}
      <ProblemLine />
    </main>
  );
}

function keep(open: OpenCase, { entry }: PendingStop, why: string, who: string) {
  const value = { ...entry.value, kept_because: why, kept_by: who };
  return correctValue(open.view.caseId, entry.id, value);
}

interface StopSlabsProps {
  readonly open: OpenCase;
  readonly stop: PendingStop;
  readonly onReadAgain: () => void;
  readonly onKeep: () => void;
  readonly onInEye: () => void;
}

function StopSlabs({ open, stop, onReadAgain, onKeep, onInEye }: StopSlabsProps) {
  const slabs = useFocusKept<HTMLElement>(stop.entry.id);
  const caseId = open.view.caseId;
  const { entry, step } = stop;
  const readAgain = () => {
    onReadAgain();
    goTo(to.step(caseId, step.step));
  };
  const wrongTap = async () => {
    const words = liveText.backTaken(step.key_word);
    if (await act(undo(open, entry), words)) goTo(to.live(caseId));
  };
  const isDrawnUp = step.asks_hub === true && entry.value["in_eye"] === false;
  return (
    <nav class="stop-slabs" aria-label={liveText.answers} ref={slabs} tabIndex={-1}>
      <CommonSlab label={liveText.stop.readAgain} onPress={readAgain} />
      <Slab label={liveText.stop.wrongTap} onPress={() => void wrongTap()} />
      {isDrawnUp ? <Slab label={liveText.stop.inEye} onPress={onInEye} /> : null}
      <Slab label={liveText.stop.keep} onPress={onKeep} />
    </nav>
  );
}
