/** The dilutions after the vial: take so much, add so much, one after the other. */
import type { Draft, StageDraft } from "../model/draft.ts";
import { fieldWords, liveText } from "../text/en.ts";
import { Slab } from "./Slab.tsx";
import { WholeField } from "./WholeField.tsx";

export interface DilutionEditorProps {
  readonly draft: Draft;
  readonly refused: Readonly<Record<string, string>>;
  readonly onDraft: (draft: Draft) => void;
}

const NEW_STAGE: StageDraft = { take_ul: "", add_ul: "" };

export function DilutionEditor({ draft, refused, onDraft }: DilutionEditorProps) {
  const { stages } = draft;
  const change = (at: number, part: Partial<StageDraft>) =>
    onDraft({
      ...draft,
      stages: stages.map((stage, index) => (index === at ? { ...stage, ...part } : stage)),
    });
  return (
    <>
      {stages.map((stage, index) => (
        <fieldset key={index} class="counts">
          <legend>{liveText.editor.stage(index + 1)}</legend>
          {(["take_ul", "add_ul"] as const).map((name) => (
            <WholeField
              key={name}
              label={fieldWords[name] ?? name}
              name={name}
              typed={stage[name]}
              start={0}
              refused={refused[`${name}.${index}`]}
              onType={(typed) => change(index, { [name]: typed })}
            />
          ))}
        </fieldset>
      ))}
      <div class="slabs">
        <Slab
          label={liveText.editor.addStage}
          look="quiet"
          onPress={() => onDraft({ ...draft, stages: [...stages, NEW_STAGE] })}
        />
        {stages.length === 0 ? null : (
          <Slab
            label={liveText.editor.dropStage}
            look="quiet"
            onPress={() => onDraft({ ...draft, stages: stages.slice(0, -1) })}
          />
        )}
      </div>
    </>
  );
}
