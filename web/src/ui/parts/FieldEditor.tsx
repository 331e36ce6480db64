/** One field of a step's value, drawn by its type: a choice, a number, counts, dilutions, a day, or words. */
import { useState } from "preact/hooks";

import type { Json } from "../../core/json.ts";
import type { Field, Step } from "../../core/protocol.ts";
import { isNeeded, type Draft } from "../model/draft.ts";
import { choiceWords, fieldWord, liveText, wordFor } from "../text/en.ts";
import { ChoiceRow } from "./Choice.tsx";
import { DilutionEditor } from "./DilutionEditor.tsx";
import { TextField } from "./TextField.tsx";
import { WholeField } from "./WholeField.tsx";

export interface FieldEditorProps {
  readonly step: Step;
  readonly field: Field;
  readonly draft: Draft;
  readonly refused: Readonly<Record<string, string>>;
  /** Words offered for a text field; categories of the count fields. */
  readonly offered: readonly string[];
  readonly categories: readonly string[];
  readonly onDraft: (draft: Draft) => void;
  readonly onEnter: () => void;
}

export function FieldEditor(props: FieldEditorProps) {
  const { step, field, draft, refused, onDraft } = props;
  const label = fieldWord(step.step, field.name);
  const typed = draft.typed[field.name] ?? "";
  const type = (name: string) => (text: string) =>
    onDraft({ ...draft, typed: { ...draft.typed, [name]: text } });
  const hint = isNeeded(field, draft) ? undefined : liveText.editor.optional;
  switch (field.type) {
    case "boolean":
    case "one_of":
    case "some_of":
      return <ChoiceField {...props} label={label} />;
    case "whole": {
      const start = field.refuse?.below ?? 0;
      const whole = {
        label,
        name: field.name,
        typed,
        hint,
        start: Math.max(0, start),
        onEnter: props.onEnter,
      };
      return <WholeField {...whole} refused={refused[field.name]} onType={type(field.name)} />;
    }
    case "day":
      return (
        <TextField
          label={`${label}. ${liveText.editor.day}`}
          value={typed}
          hint={hint}
          refused={refused[field.name]}
          onInput={type(field.name)}
          onEnter={props.onEnter}
        />
      );
    case "text":
      return <OfferedText {...props} label={label} typed={typed} onType={type(field.name)} />;
    case "counts":
      return (
        <fieldset class="counts">
          <legend>{label}</legend>
          {props.categories.map((category) => (
            <CountField
              key={category}
              {...props}
              name={`${field.name}.${category}`}
              category={category}
              onType={type(`${field.name}.${category}`)}
            />
          ))}
        </fieldset>
      );
    case "dilutions":
      return <DilutionEditor draft={draft} refused={refused} onDraft={onDraft} />;
  }
}

function ChoiceField({ field, draft, onDraft, label }: FieldEditorProps & { readonly label: string }) {
  const chosen = draft.chosen[field.name];
  const set = (value: Json) => onDraft({ ...draft, chosen: { ...draft.chosen, [field.name]: value } });
  const hint = field.required ? undefined : liveText.editor.optional;
  if (field.type === "boolean") {
    const choices = [
      { value: true, label: liveText.editor.yes },
      { value: false, label: liveText.editor.no },
    ];
    return (
      <ChoiceRow
        isBeside
        question={label}
        hint={hint}
        choices={choices}
        chosen={typeof chosen === "boolean" ? [chosen] : []}
        onChoose={set}
      />
    );
  }
  const choices = (field.choices ?? []).map((code) => ({ value: code, label: wordFor(choiceWords, code) }));
  const some: readonly string[] = Array.isArray(chosen)
    ? chosen.map(String)
    : typeof chosen === "string"
      ? [chosen]
      : [];
  const choose = field.type === "one_of" ? set : (code: string) => set(toggled(some, code));
  return <ChoiceRow question={label} hint={hint} choices={choices} chosen={some} onChoose={choose} />;
}

/** "none" excludes the others, and any other excludes "none". */
function toggled(chosen: readonly string[], code: string): readonly string[] {
  if (chosen.includes(code)) return chosen.filter((other) => other !== code);
  return code === "none" ? [code] : [...chosen.filter((other) => other !== "none"), code];
}

interface OfferedTextProps extends FieldEditorProps {
  readonly label: string;
  readonly typed: string;
  readonly onType: (typed: string) => void;
}

/** The words that are offered, and one slab that opens a line for any other. */
function OfferedText({ label, typed, offered, onType, onEnter, field }: OfferedTextProps) {
  const [isOwn, setOwn] = useState(typed !== "" && !offered.includes(typed));
  const hint = field.required ? undefined : liveText.editor.optional;
  if (offered.length === 0) {
    return <TextField label={label} value={typed} hint={hint} onInput={onType} onEnter={onEnter} />;
  }
  const choices = [
    ...offered.map((code) => ({ value: code, label: wordFor(choiceWords, code) })),
    { value: "", label: liveText.editor.writeIn },
  ];
  const choose = (code: string) => {
    setOwn(code === "");
    onType(code);
  };
  return (
    <>
      <ChoiceRow
        question={label}
        hint={hint}
        choices={choices}
        chosen={isOwn ? [""] : typed === "" ? [] : [typed]}
        onChoose={choose}
      />
      {isOwn ? (
        <TextField label={liveText.editor.own(label)} value={typed} onInput={onType} onEnter={onEnter} />
      ) : null}
    </>
  );
}

interface CountFieldProps extends FieldEditorProps {
  readonly name: string;
  readonly category: string;
  readonly onType: (typed: string) => void;
}

function CountField({ draft, refused, name, category, onType, onEnter }: CountFieldProps) {
  const label = wordFor(choiceWords, category);
  return (
    <WholeField
      label={label}
      name={name}
      typed={draft.typed[name] ?? ""}
      start={0}
      refused={refused[name]}
      onType={onType}
      onEnter={onEnter}
    />
  );
}
