/** Opens a case that is not on the list, with its plan entered by hand. */
import { useState } from "preact/hooks";

import { cases, device, lists, nowMs, protocol, settings, timeZone, unitValues } from "../../state/index.ts";
import { act, openOffList } from "../acts.ts";
import { dayOf } from "../format/times.ts";
import { ChoiceRow } from "../parts/Choice.tsx";
import { Page } from "../parts/Page.tsx";
import { ProblemLine } from "../parts/ProblemLine.tsx";
import { CommonSlab, NotYetSlab } from "../parts/Slab.tsx";
import { TextField } from "../parts/TextField.tsx";
import { EMPTY_OFF_LIST, readOffList, type OffListDraft } from "../model/offList.ts";
import { readUnitValues } from "../../core/unitValues.ts";
import { caseIdOf } from "../model/today.ts";
import { goTo, to } from "../route.ts";
import { choiceWords, liveText, pageText, wordFor } from "../text/en.ts";

const { offList: text } = pageText;

export function OffList() {
  const [draft, setDraft] = useState<OffListDraft>(EMPTY_OFF_LIST);
  const [isPractice, setPractice] = useState(false);
  const { plan, missing, refused } = readOffList(draft);
  const change = (part: Partial<OffListDraft>) => setDraft({ ...draft, ...part });
  const date = dayOf(nowMs.value, timeZone.value);
  const open = async () => {
    if (plan === null) return;
    const caseId = caseIdOf(device.value.unit ?? "", date, draft.reference, plan.eye);
    const isThere = cases.value.has(caseId);
    const words = isThere ? text.again(draft.reference) : text.open;
    const work = isThere
      ? Promise.resolve()
      : openOffList({ date, reference: draft.reference, plan, practice: isPractice });
    if (await act(work, words)) goTo(to.live(caseId));
  };
  return (
    <Page title={text.title} sub={text.hint} look="form">
      <PlanFields draft={draft} refused={refused} onChange={change} />
      <ChoiceRow question={text.practice} choices={YES_NO} chosen={[isPractice]} onChoose={setPractice} />
      {plan === null ? (
        <NotYetSlab label={text.open} detail={Object.values(refused)[0] ?? text.stillToGive(missing)} />
      ) : (
        <CommonSlab
          label={text.open}
          detail={`${draft.reference}, ${plan.eye} eye`}
          onPress={() => void open()}
        />
      )}
      <ProblemLine />
      <p class="quiet-text">{lists.value.length === 0 ? text.noTheatre : null}</p>
    </Page>
  );
}

const YES_NO = [
  { value: true, label: liveText.editor.yes },
  { value: false, label: liveText.editor.no },
] as const;

interface PlanFieldsProps {
  readonly draft: OffListDraft;
  readonly refused: { readonly reference?: string; readonly power?: string; readonly optic?: string };
  readonly onChange: (part: Partial<OffListDraft>) => void;
}

type PlanCode = "eye" | "anaesthesia" | "red_reflex" | "drug";

function PlanFields({ draft, refused, onChange }: PlanFieldsProps) {
  const code = (name: PlanCode, question: string) => {
    const chosen = draft[name];
    const choose = (value: string) => onChange({ [name]: value });
    return (
      <ChoiceRow
        question={question}
        choices={codesOf(name)}
        chosen={chosen === null ? [] : [chosen]}
        onChoose={choose}
      />
    );
  };
  return (
    <>
      <TextField
        label={text.reference}
        hint={text.referenceRule}
        value={draft.reference}
        refused={refused.reference}
        autoCapitalize="characters"
        required
        onInput={(typed) => onChange({ reference: typed.trim().toUpperCase() })}
      />
      {code("eye", text.eye)}
      {code("anaesthesia", text.anaesthesia)}
      {code("red_reflex", text.redReflex)}
      <LensFields draft={draft} refused={refused} onChange={onChange} />
      {code("drug", text.drug)}
    </>
  );
}

/** Codes of the protocol's plan, or the drugs of the unit's list, with their words. */
function codesOf(name: PlanCode) {
  const codes =
    name === "drug"
      ? [...readUnitValues(unitValues.value.values, protocol.value).drugs.keys()]
      : (protocol.value.plan[name] ?? []);
  return codes.map((value) => ({ value, label: wordFor(choiceWords, value) }));
}

function LensFields({ draft, refused, onChange }: PlanFieldsProps) {
  const models = settings.value.lens_models;
  const number = (name: "power" | "optic", label: string) => (
    <TextField
      label={label}
      value={draft[name]}
      refused={refused[name]}
      kind="decimal"
      required
      onInput={(typed) => onChange({ [name]: typed })}
    />
  );
  return (
    <>
      <ChoiceRow
        question={text.model}
        choices={models.map((model) => ({ value: model, label: model }))}
        chosen={[draft.model]}
        onChoose={(model) => onChange({ model })}
      />
      <TextField
        label={liveText.lens.otherModel}
        value={models.includes(draft.model) ? "" : draft.model}
        autoCapitalize="characters"
        onInput={(model) => onChange({ model })}
      />
      {number("power", text.powerLabel)}
      {number("optic", text.opticLabel)}
      <ChoiceRow
        question={text.dryState}
        choices={YES_NO}
        chosen={draft.dryState === null ? [] : [draft.dryState]}
        onChoose={(dryState) => onChange({ dryState })}
      />
    </>
  );
}
