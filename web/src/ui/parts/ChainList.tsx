/** A dilution chain as words and bars, one stage under the other; each bar is its strength against the first. */
import { chainOf, doseOf, massText, strengthText, type Stage } from "../format/dose.ts";
import type { Fraction } from "../../core/fraction.ts";
import { quantity } from "../format/quantities.ts";
import type { Value } from "../model/ledger.ts";
import { cautions, choiceWords, liveText, wordFor } from "../text/en.ts";

const BAR = 300;

/** Drug, strength, volume and mass always stand together; what is not read yet is said. */
export function ChainList({ value, drug }: { readonly value: Value; readonly drug: string }) {
  const chain = chainOf(value);
  const mass = doseOf(value);
  const volume = typeof value["volume_ul"] === "number" ? quantity(value["volume_ul"], "volume_ul") : null;
  const strength = chain.strength === null ? null : strengthText(chain);
  const read = [strength, volume].filter((part) => part !== null);
  return (
    <div class="chain">
      <ChainStages value={value} />
      <p class="chain-sum">
        <b>{wordFor(choiceWords, drug)}</b> {read.join(", ")}
        {read.length === 0 ? "" : ": "}
        {mass === null ? (
          liveText.dose.unknown
        ) : (
          <>
            <b>{massText(mass)}</b> {liveText.dose.inSyringe}
          </>
        )}
      </p>
      <p class="caution">{cautions.dose}</p>
    </div>
  );
}

/** The stages of a dilution; nothing where a strength was read from a label. */
export function ChainStages({ value }: { readonly value: Value }) {
  const { stages, vial_ug } = chainOf(value);
  return stages.length === 0 ? null : (
    <ol class="chain-stages">
      {stages.map((stage, index) => (
        <li key={index}>
          <span>{stageWords(stage, vial_ug)}</span>
          <b>{stage.strength === null ? liveText.dose.unknown : strengthText(stage)}</b>
          <StrengthBar strength={stage.strength} first={stages[0]?.strength ?? null} />
        </li>
      ))}
    </ol>
  );
}

function stageWords({ take_ul, add_ul }: Stage, vial_ug: number | null): string {
  const add = quantity(add_ul, "add_ul");
  if (take_ul === null)
    return `${quantity(vial_ug ?? 0, "vial_ug")} ${liveText.dose.vial}, ${add} ${liveText.dose.diluent}`;
  return `${liveText.dose.take(quantity(take_ul, "take_ul"))}, ${liveText.dose.add(add)}`;
}

function StrengthBar({
  strength,
  first,
}: {
  readonly strength: Fraction | null;
  readonly first: Fraction | null;
}) {
  if (strength === null || first === null || first.numerator === 0n) return null;
  const share =
    Number((strength.numerator * first.denominator * 1000n) / (strength.denominator * first.numerator)) /
    1000;
  return (
    <svg viewBox={`0 0 ${BAR} 16`} preserveAspectRatio="none" aria-hidden="true">
      <rect class="ink-live" width={Math.max(2, BAR * Math.min(1, share))} height="16" />
    </svg>
  );
}
