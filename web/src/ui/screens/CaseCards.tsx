/** The cards over a step: something happened, not done, correct, not operated, opened on the wrong case. */
import { useState } from "preact/hooks";

import type { Step } from "../../core/protocol.ts";
import { act, correctValue, moveCase, notDone, notOperated, tapNow, undo } from "../acts.ts";
import { recordText } from "../format/recordText.ts";
import { Card } from "../parts/Card.tsx";
import { ValuePart } from "../parts/AnswerPart.tsx";
import { LinkSlab, NotYetSlab, Slab } from "../parts/Slab.tsx";
import { TextField } from "../parts/TextField.tsx";
import type { Value } from "../model/ledger.ts";
import { entryText } from "../model/entryText.ts";
import { stepNamed, type OpenCase } from "../model/openCase.ts";
import { goTo, replaceWith, to } from "../route.ts";
import { liveText, reasonWords, wordFor } from "../text/en.ts";

const backToStep = (caseId: string) => ({ href: to.live(caseId), label: liveText.backToStep });

export function NotDone({ open, step }: { readonly open: OpenCase; readonly step: Step }) {
  const caseId = open.view.caseId;
  const reasons = [...(step.reasons ?? []), ...open.protocol.not_done_reasons].filter(
    (reason) => reason !== "other",
  );
  const store = async (reason: string, text: string | undefined) => {
    const words = liveText.reason.recorded(step.key_word, wordFor(reasonWords, reason));
    if (await act(notDone(caseId, step.step, reason, text, tapNow()), liveText.recorded(words)))
      replaceWith(to.live(caseId));
  };
  return (
    <Card
      title={liveText.reason.title(step.key_word)}
      hint={liveText.reason.oneTap}
      back={backToStep(caseId)}
    >
      <Reasons reasons={reasons} onReason={(reason, text) => void store(reason, text)} />
    </Card>
  );
}

interface ReasonsProps {
  readonly reasons: readonly string[];
  readonly onReason: (reason: string, text: string | undefined) => void;
}

/** One tap for a known reason; another reason takes a few words of its own. */
function Reasons({ reasons, onReason }: ReasonsProps) {
  const [words, setWords] = useState("");
  const other = () => onReason("other", words.trim());
  return (
    <>
      <div class="slabs">
        {reasons.map((reason) => (
          <Slab
            key={reason}
            label={wordFor(reasonWords, reason)}
            onPress={() => onReason(reason, undefined)}
          />
        ))}
      </div>
      <TextField
        label={liveText.reason.elseLabel}
        value={words}
        autoCapitalize="sentences"
        onInput={setWords}
        onEnter={() => (words.trim() === "" ? undefined : other())}
      />
      {words.trim() === "" ? (
        <NotYetSlab
          isCommon={false}
          label={wordFor(reasonWords, "other")}
          detail={liveText.editor.stillToGive([liveText.what.few])}
        />
      ) : (
        <Slab label={wordFor(reasonWords, "other")} detail={words.trim()} onPress={other} />
      )}
    </>
  );
}

/** A slip is put right by a new entry: the whole value anew, or taken back. */
export function Correct({ open, eventId }: { readonly open: OpenCase; readonly eventId: string }) {
  const caseId = open.view.caseId;
  const entry = open.ledger.find(({ id }) => id === eventId);
  if (entry === undefined)
    return (
      <Card title={liveText.nothingYet} back={backToStep(caseId)}>
        {null}
      </Card>
    );
  const step = entry.step === null ? null : stepNamed(open.protocol, entry.step);
  const words = entryText(entry, step, entry.value);
  const back = async () => {
    if (await act(undo(open, entry), liveText.backTaken(words))) replaceWith(to.live(caseId));
  };
  const correct = async (value: Value) => {
    const said = liveText.recorded(step === null ? words : recordText(step, value));
    if (await act(correctValue(caseId, eventId, value), said)) replaceWith(to.live(caseId));
  };
  return (
    <Card title={liveText.correctRead(words)} hint={liveText.editor.correcting} back={backToStep(caseId)}>
      {entry.type === "step" && step !== null && step.fields.length > 0 ? (
        <ValuePart open={open} step={step} start={entry.value} isLive={false} onWhole={correct} />
      ) : null}
      {entry.voided ? null : (
        <Slab label={liveText.editor.takeBack} look="quiet" onPress={() => void back()} />
      )}
    </Card>
  );
}

export function NotOperated({ open }: { readonly open: OpenCase }) {
  const caseId = open.view.caseId;
  const store = async (reason: string, text: string | undefined) => {
    if (await act(notOperated(caseId, reason, text), liveText.recorded(liveText.steps.notOperated)))
      goTo(to.today);
  };
  return (
    <Card title={liveText.steps.notOperatedTitle} hint={liveText.reason.oneTap} back={backToStep(caseId)}>
      <Reasons
        reasons={["list_changed", "patient_unwell", "refused", "cancelled"]}
        onReason={(reason, text) => void store(reason, text)}
      />
    </Card>
  );
}

export interface MoveProps {
  readonly open: OpenCase;
  /** The other cases that the entries could be of: id and words. */
  readonly others: readonly { readonly caseId: string; readonly words: string }[];
}

export function Move({ open, others }: MoveProps) {
  const caseId = open.view.caseId;
  const move = async (to_: string, words: string) => {
    if (await act(moveCase(caseId, to_), liveText.recorded(words))) goTo(to.live(to_));
  };
  return (
    <Card
      title={liveText.steps.moveTitle}
      hint={liveText.steps.moveHint}
      back={{ href: to.steps(caseId), label: liveText.backToStep }}
    >
      {others.length === 0 ? <p>{liveText.steps.moveNone}</p> : null}
      <div class="slabs">
        {others.map((other) => (
          <Slab key={other.caseId} label={other.words} onPress={() => void move(other.caseId, other.words)} />
        ))}
      </div>
      <LinkSlab href={to.steps(caseId)} look="quiet">
        {liveText.steps.title}
      </LinkSlab>
    </Card>
  );
}
