/** All fields of a step's value by hand. Nothing is stored until "Record"; impossible numbers never are. */
import { textOf } from "../format/jsonParts.ts";
import { useState } from "preact/hooks";

import type { Field, Step } from "../../core/protocol.ts";
import { valueText } from "../format/recordText.ts";
import type { StepContext } from "../model/answers.ts";
import { draftOf, editedFields, readDraft, type Draft } from "../model/draft.ts";
import { allergiesOf, type Value } from "../model/ledger.ts";
import { isBarred } from "../model/barred.ts";
import { cautions, liveText } from "../text/en.ts";
import { ChainList } from "./ChainList.tsx";
import { ChoiceRow } from "./Choice.tsx";
import { FieldEditor } from "./FieldEditor.tsx";
import { CommonSlab, NotYetSlab } from "./Slab.tsx";

export interface ValueEditorProps {
  readonly context: StepContext;
  /** The value shown at first: the unit's offer, or the record that is corrected. */
  readonly start: Value;
  readonly isCorrecting: boolean;
  readonly onReady: (value: Value) => void;
}

export function ValueEditor({ context, start, isCorrecting, onReady }: ValueEditorProps) {
  const { step } = context;
  const [draft, setDraft] = useState<Draft>(() => draftOf(step, start, isCorrecting));
  const categories = categoriesOf(context, start);
  const reading = readDraft(step, draft, categories);
  const faults = Object.values(reading.refused);
  const isReady = reading.missing.length === 0 && faults.length === 0;
  const record = () => {
    if (isReady) onReady(reading.value);
  };
  return (
    <div class="editor">
      {step.dose?.chain ? <StrengthSource draft={draft} onDraft={setDraft} /> : null}
      {editedFields(step, draft.isChain).map((field) => (
        <FieldEditor
          key={field.name}
          {...{ step, field, draft, categories, refused: reading.refused }}
          offered={offeredFor(context, field)}
          onDraft={setDraft}
          onEnter={record}
        />
      ))}
      {draft.isChain ? <p class="caution">{cautions.vial}</p> : null}
      {step.dose ? <ChainList value={reading.value} drug={textOf(reading.value[step.dose.of])} /> : null}
      {isReady ? (
        <CommonSlab label={liveText.record} detail={valueText(step, reading.value)} onPress={record} />
      ) : (
        <NotYetSlab
          label={liveText.record}
          detail={faults[0] ?? liveText.editor.stillToGive(reading.missing.map(lowerLabel))}
        />
      )}
    </div>
  );
}

function lowerLabel(label: string): string {
  return label.replace(/\?$/, "").toLowerCase();
}

function StrengthSource({
  draft,
  onDraft,
}: {
  readonly draft: Draft;
  readonly onDraft: (draft: Draft) => void;
}) {
  const choices = [
    { value: false, label: liveText.editor.strengthRead },
    { value: true, label: liveText.editor.chain },
  ];
  return (
    <ChoiceRow
      question={liveText.editor.strength}
      choices={choices}
      chosen={[draft.isChain]}
      onChoose={(isChain) => onDraft({ ...draft, isChain })}
    />
  );
}

/** Categories of the unit's tray, and any other that was counted before. */
function categoriesOf({ settings, ledger }: StepContext, start: Value): readonly string[] {
  const counted = [...ledger.map((entry) => entry.value), start].flatMap((value) =>
    ["items", "added", "out"].flatMap((name) => Object.keys(value[name] ?? {})),
  );
  return [...new Set([...Object.keys(settings.tray), ...counted])];
}

const INSTRUMENTS = ["applanation", "rebound", "indentation"];

function offeredFor({ step, settings, unit, ledger }: StepContext, { name }: Field): readonly string[] {
  const allergies = allergiesOf(ledger);
  if (name === "drug")
    return isUnitDrug(step) ? [...unit.drugs.keys()].filter((drug) => !isBarred(unit, drug, allergies)) : [];
  if (name === "dye") return [...unit.dyes.keys()];
  if (name === "model") return settings.lens_models;
  if (name === "instrument") return INSTRUMENTS;
  if (step.readback?.rule === "label" && name === step.readback.field) return [step.readback.label];
  return [];
}

function isUnitDrug(step: Step): boolean {
  return step.dose !== undefined && step.contraindicated?.rule === "drug";
}
