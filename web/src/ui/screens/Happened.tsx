/** Something happened that no step records: one tap stores it now, words can follow. */
import { useState } from "preact/hooks";

import { act, breach, complication, fault, tapNow } from "../acts.ts";
import { Card } from "../parts/Card.tsx";
import { NotYetSlab, Slab } from "../parts/Slab.tsx";
import { TextField } from "../parts/TextField.tsx";
import type { OpenCase } from "../model/openCase.ts";
import { replaceWith, to } from "../route.ts";
import { complications, liveText } from "../text/en.ts";

export function Happened({ open }: { readonly open: OpenCase }) {
  const [words, setWords] = useState("");
  const caseId = open.view.caseId;
  const text = words.trim() === "" ? undefined : words.trim();
  const store = async (work: Promise<unknown>, said: string) => {
    if (await act(work, liveText.recorded(said))) replaceWith(to.live(caseId));
  };
  const { what } = liveText;
  const back = { href: to.live(caseId), label: what.back };
  return (
    <Card title={what.title} hint={what.oneTap} back={back}>
      <TextField label={what.words} value={words} autoCapitalize="sentences" onInput={setWords} />
      <h2>{what.inEye}</h2>
      <div class="slabs">
        {complications.map(({ what: code, label }) => (
          <Slab
            key={code}
            label={label}
            onPress={() => void store(complication(caseId, code, text, tapNow()), label)}
          />
        ))}
        {text === undefined ? (
          <NotYetSlab
            isCommon={false}
            label={what.else}
            detail={liveText.editor.stillToGive([liveText.what.few])}
          />
        ) : (
          <Slab
            label={what.else}
            detail={text}
            onPress={() => void store(complication(caseId, "other", text, tapNow()), text)}
          />
        )}
      </div>
      <OutsideTheEye
        onFault={(stage, label) => void store(fault(caseId, stage, text, tapNow()), what.fault(label))}
        onBreach={(reached) => void store(breach(caseId, reached, text, tapNow()), what.breach(reached))}
      />
    </Card>
  );
}

interface OutsideTheEyeProps {
  readonly onFault: (stage: "before" | "during", label: string) => void;
  readonly onBreach: (reached: boolean) => void;
}

function OutsideTheEye({ onFault, onBreach }: OutsideTheEyeProps) {
  const { what } = liveText;
  return (
    <>
      <h2>{what.equipment}</h2>
      <div class="slabs">
        <Slab label={what.before} onPress={() => onFault("before", what.before.toLowerCase())} />
        <Slab label={what.during} onPress={() => onFault("during", what.during.toLowerCase())} />
      </div>
      <h2>{what.sterility}</h2>
      <div class="slabs">
        <Slab label={what.reached} onPress={() => onBreach(true)} />
        <Slab label={what.notReached} onPress={() => onBreach(false)} />
      </div>
    </>
  );
}
