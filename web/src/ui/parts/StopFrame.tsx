/** The broken frame of STOP: the reading in the upper half, the plan in the lower, slipped against each other. */
import { massText } from "../format/dose.ts";
import { quantity } from "../format/quantities.ts";
import { type Value } from "../model/ledger.ts";
import { powerColumns, type StopView } from "../model/stopView.ts";
import { liveText } from "../text/en.ts";
import { ChainStages } from "./ChainList.tsx";
import { DoseBlocks, PlannedBlock } from "./DoseBlocks.tsx";

export function StopFrame({ shown, value }: { readonly shown: StopView; readonly value: Value }) {
  switch (shown.kind) {
    case "lens":
      return <LensFrame shown={shown} />;
    case "dose":
      return <DoseFrame shown={shown} value={value} />;
    case "words":
      return <WordsFrame shown={shown} />;
  }
}

function LensFrame({ shown }: { readonly shown: Extract<StopView, { kind: "lens" }> }) {
  const columns = powerColumns(shown.read.power_cdpt, shown.plan.power_cdpt);
  return (
    <div class="frame">
      <div class="half-frame upper">
        <p class="frame-model">
          <span>{liveText.stop.read}</span> {shown.read.model}
        </p>
        <Digits columns={columns.map(({ read, differs }) => ({ digit: read, differs }))} />
      </div>
      <div class="half-frame lower">
        <Digits columns={columns.map(({ plan, differs }) => ({ digit: plan, differs }))} />
        <p class="frame-model">
          <span>{liveText.stop.plan}</span> {shown.plan.model}
        </p>
      </div>
      <p class="stop-note">{shown.note}</p>
    </div>
  );
}

function Digits({
  columns,
}: {
  readonly columns: readonly { readonly digit: string; readonly differs: boolean }[];
}) {
  const text = columns.map(({ digit }) => digit).join("");
  return (
    <p class="digits">
      <span class="only-read">{`${text} D`}</span>
      {columns.map(({ digit, differs }, index) => (
        <i
          key={index}
          class={`${digit === "." ? "point" : ""} ${differs ? "differs" : ""}`}
          aria-hidden="true"
        >
          {digit}
        </i>
      ))}
      <i class="unit" aria-hidden="true">
        D
      </i>
    </p>
  );
}

function DoseFrame({
  shown,
  value,
}: {
  readonly shown: Extract<StopView, { kind: "dose" }>;
  readonly value: Value;
}) {
  const planned = quantity(shown.planned_ug, "planned_ug");
  return (
    <div class="frame dose-frame">
      <div class="half-frame upper">
        <p class="frame-mass">
          {massText(shown.mass)} <span>{liveText.dose.inSyringe}</span>
        </p>
        <DoseBlocks mass={shown.mass} planned_ug={shown.planned_ug} />
      </div>
      <div class="half-frame lower">
        <PlannedBlock />
        <p class="frame-mass">
          {planned} <span>{shown.isMost ? liveText.dose.most : liveText.dose.planned}</span>
        </p>
      </div>
      <ChainStages value={value} />
    </div>
  );
}

function WordsFrame({ shown }: { readonly shown: Extract<StopView, { kind: "words" }> }) {
  return (
    <div class="frame">
      <div class="half-frame upper">
        <p class="frame-words">
          <span>{liveText.stop.read}</span> {shown.read}
        </p>
      </div>
      <div class="half-frame lower">
        <p class="frame-words">
          <span>{liveText.stop.plan}</span> {shown.plan}
        </p>
      </div>
    </div>
  );
}
