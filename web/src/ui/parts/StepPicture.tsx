/** The picture and the cautions that belong to a step: hub held, overlap to scale, the cautions beside its values. */
import type { Step } from "../../core/protocol.ts";
import { settings } from "../../state/index.ts";
import { allergiesOf } from "../model/ledger.ts";
import type { OpenCase } from "../model/openCase.ts";
import { cautions } from "../text/en.ts";
import { HubPicture } from "./HubPicture.tsx";
import { OverlapPicture } from "./OverlapPicture.tsx";

export function StepPicture({ open, step }: { readonly open: OpenCase; readonly step: Step }) {
  const lines = cautionsOf(step, open);
  return (
    <>
      {step.asks_hub && !step.dose ? <HubPicture /> : null}
      <Overlap open={open} step={step} />
      {lines.length === 0 ? null : <p class="caution">{lines.join(" ")}</p>}
    </>
  );
}

function cautionsOf(step: Step, open: OpenCase): readonly string[] {
  const lines = [];
  if (step.dose) lines.push(cautions.dose);
  if (step.dose?.of === "dye" && open.view.caseFile.plan.lens.dry_state_hydrophilic)
    lines.push(cautions.dryStateDye);
  if ((step.tolerance ?? []).some((rule) => rule.rule === "last_is" && rule.choice === "leak"))
    lines.push(cautions.seal);
  if ((step.tolerance ?? []).some((rule) => rule.rule === "last_measured_outside"))
    lines.push(cautions.pressure);
  const isIodineBarred = allergiesOf(open.ledger).has(open.protocol.fixed.antiseptic_barred_by);
  if (step.contraindicated?.rule === "antiseptic" && isIodineBarred) lines.push(cautions.antiseptic);
  if (settings.value.offers[step.step] !== undefined || step.dose) lines.push(cautions.defaults);
  return lines;
}

function Overlap({ open, step }: { readonly open: OpenCase; readonly step: Step }) {
  const rule = (step.tolerance ?? []).find(({ rule: name }) => name === "last_overlap");
  if (rule?.rule !== "last_overlap") return null;
  const offered = settings.value.offers[step.step]?.[0]?.[rule.diameter];
  if (typeof offered !== "number") return null;
  const { optic_um } = open.view.caseFile.plan.lens;
  const least_um = open.unit.limits.get(rule.limit) ?? 0;
  return <OverlapPicture optic_um={optic_um} diameter_um={offered} decentration_um={0} least_um={least_um} />;
}
