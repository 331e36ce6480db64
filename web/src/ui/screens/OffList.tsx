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
import { shownUnit } from "../model/shownUnit.ts";
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
    const work = isThere ? Promise.resolve() : openOffList({ date, reference: draft.reference, plan, practice: isPractice });
    if (await act(work, words)) goTo(to.live(caseId));
  };
  return (
    <Page title={text.title} sub={text.hint} look="form">
      <PlanFields draft={draft} refused={refused} onChange={change} />
      <ChoiceRow question={text.practice} choices={YES_NO} chosen={[isPractice]} onChoose={setPractice} />
      {plan === null ? (
        <NotYetSlab label={text.open} detail={Object.values(refused)[0] ?? text.stillToGive(missing)} />
      ) : (
        <CommonSlab label={text.open} detail={`${draft.reference}, ${plan.eye} eye`} onPress={() => void open()} />
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

function PlanFields({ draft, refused, onChange }: PlanFieldsProps) {
  const codes = (name: string) => (protocol.value.plan[name] ?? []).map((code) => ({ value: code, label: wordFor(choiceWords, code) }));
  const drugs = Object.keys(shownUnit(protocol.value, unitValues.value.values).drugs);
  const chosen = (value: string | null) => (value === null ? [] : [value]);
  const models = settings.value.lens_models.map((model) => ({ value: model, label: model }));
  return (
    <>
      <TextField label={text.reference} hint={text.referenceRule} value={draft.reference} refused={refused.reference} autoCapitalize="characters" required onInput={(typed) => onChange({ reference: typed.trim().toUpperCase() })} />
      <ChoiceRow question={text.eye} choices={codes("eye")} chosen={chosen(draft.eye)} onChoose={(eye) => onChange({ eye })} />
      <ChoiceRow question={text.anaesthesia} choices={codes("anaesthesia")} chosen={chosen(draft.anaesthesia)} onChoose={(anaesthesia) => onChange({ anaesthesia })} />
      <ChoiceRow question={text.redReflex} choices={codes("red_reflex")} chosen={chosen(draft.red_reflex)} onChoose={(red_reflex) => onChange({ red_reflex })} />
      <ChoiceRow question={text.model} choices={models} chosen={[draft.model]} onChoose={(model) => onChange({ model })} />
      <TextField label={liveText.lens.otherModel} value={settings.value.lens_models.includes(draft.model) ? "" : draft.model} autoCapitalize="characters" onInput={(model) => onChange({ model })} />
      <TextField label={text.power} value={draft.power} refused={refused.power} kind="decimal" required onInput={(power) => onChange({ power })} />
      <TextField label={text.optic} value={draft.optic} refused={refused.optic} kind="decimal" required onInput={(optic) => onChange({ optic })} />
      <ChoiceRow question={text.dryState} choices={YES_NO} chosen={draft.dryState === null ? [] : [draft.dryState]} onChoose={(dryState) => onChange({ dryState })} />
      <ChoiceRow question={text.drug} choices={drugs.map((drug) => ({ value: drug, label: wordFor(choiceWords, drug) }))} chosen={chosen(draft.drug)} onChoose={(drug) => onChange({ drug })} />
    </>
  );
}
