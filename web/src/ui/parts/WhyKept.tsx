/** Why a reading is kept after a STOP, and in which role it was decided; both are needed. */
import { useState } from "preact/hooks";

import { keptReasons, liveText, roleWords, wordFor } from "../text/en.ts";
import { useFocusKept } from "./focus.ts";
import { ChoiceRow } from "./Choice.tsx";
import { CommonSlab, NotYetSlab, Slab } from "./Slab.tsx";
import { TextField } from "./TextField.tsx";

export interface WhyKeptProps {
  readonly onKeep: (why: string, who: string) => void;
  readonly onBack: () => void;
}

const ROLES = ["surgeon", "scrub", "circulating", "anaesthetist"] as const;

export function WhyKept({ onKeep, onBack }: WhyKeptProps) {
  const [why, setWhy] = useState("");
  const [who, setWho] = useState<string | null>(null);
  const words = why.trim();
  const start = useFocusKept<HTMLDivElement>("why");
  return (
    <div class="why-kept" ref={start} tabIndex={-1}>
      <ChoiceRow
        question={liveText.stop.whyTitle}
        choices={keptReasons.map((reason) => ({ value: reason, label: reason }))}
        chosen={[why]}
        onChoose={setWhy}
      />
      <TextField
        label={liveText.stop.otherWhy}
        value={keptReasons.includes(why) ? "" : why}
        autoCapitalize="sentences"
        onInput={setWhy}
      />
      <ChoiceRow
        question={liveText.stop.whoTitle}
        choices={ROLES.map((role) => ({ value: role as string, label: capital(wordFor(roleWords, role)) }))}
        chosen={who === null ? [] : [who]}
        onChoose={setWho}
      />
      {words !== "" && who !== null ? (
        <CommonSlab label={liveText.stop.keepNow} detail={words} onPress={() => onKeep(words, who)} />
      ) : (
        <NotYetSlab label={liveText.stop.keepNow} detail={missing(words, who)} />
      )}
      <Slab label={liveText.stop.back} look="strung" onPress={onBack} />
    </div>
  );
}

function missing(words: string, who: string | null): string {
  return liveText.editor.stillToGive([
    ...(words === "" ? [liveText.stop.why] : []),
    ...(who === null ? [liveText.stop.who] : []),
  ]);
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
