/** Reads a lens piece by piece with the plan covered; the plan is nowhere in the page before the comparison. */
import { useState } from "preact/hooks";

import type { Field, Step } from "../../core/protocol.ts";
import { possibleRange } from "../format/typed.ts";
import { isDay, refusal } from "../model/draft.ts";
import {
  EMPTY_LENS,
  isRefused,
  powerOf,
  QUARTERS,
  stillToRead,
  withDigit,
  type LensReading,
} from "../model/lensReading.ts";
import type { Value } from "../model/ledger.ts";
import { choiceWords, fieldWord, liveText, wordFor } from "../text/en.ts";
import { ChoiceRow } from "./Choice.tsx";
import { CommonSlab, NotYetSlab, Slab } from "./Slab.tsx";
import { TextField } from "./TextField.tsx";

export interface LensPadProps {
  readonly step: Step;
  readonly models: readonly string[];
  readonly onReady: (value: Value) => void;
}

const DIGITS = ["1", "2", "3", "4", "5", "6", "7", "8", "9", "0"];

export function LensPad({ step, models, onReady }: LensPadProps) {
  const [reading, setReading] = useState<LensReading>(EMPTY_LENS);
  const [expiry, setExpiry] = useState("");
  const [hasExpiry, setHasExpiry] = useState(false);
  const [site, setSite] = useState<string | null>(null);
  const band = fieldOf(step, "power_cdpt")?.refuse ?? {};
  const refused = isRefused(reading, band) ? powerRefusal(reading, band) : dayRefusal(step, expiry);
  const sites = fieldOf(step, "site")?.choices ?? [];
  const missing = [
    ...stillToRead(reading),
    ...(sites.length > 0 && site === null ? [liveText.lens.site] : []),
  ];
  const power_cdpt = powerOf(reading);
  const isCompared = step.readback !== undefined;
  const label = isCompared ? liveText.lens.compare : liveText.lens.record;
  const ready = missing.length === 0 && refused === undefined && power_cdpt !== null;
  const record = () =>
    onReady({
      model: reading.model.trim(),
      power_cdpt,
      ...(site === null ? {} : { site }),
      ...(expiry === "" ? {} : { expiry }),
    });
  return (
    <div class="lens-pad">
      <ReadSoFar step={step} reading={reading} refused={refused} onClear={() => setReading(EMPTY_LENS)} />
      {isCompared ? <Covered /> : null}
      <Keys reading={reading} models={models} onRead={setReading} />
      {sites.length === 0 ? null : (
        <ChoiceRow
          question={fieldWord(step.step, "site")}
          choices={sites.map((code) => ({ value: code, label: wordFor(choiceWords, code) }))}
          chosen={site === null ? [] : [site]}
          onChoose={setSite}
        />
      )}
      {hasExpiry ? (
        <TextField
          label={`${liveText.lens.expiry}. ${liveText.editor.day}`}
          value={expiry}
          kind="decimal"
          onInput={setExpiry}
        />
      ) : null}
      <div class="compare-row">
        {hasExpiry || fieldOf(step, "expiry") === undefined ? null : (
          <Slab label={liveText.lens.addExpiry} look="quiet" onPress={() => setHasExpiry(true)} />
        )}
        {ready ? (
          <CommonSlab label={label} onPress={record} />
        ) : (
          <NotYetSlab
            label={label}
            detail={refused === undefined ? liveText.lens.stillToRead(missing) : liveText.lens.notPossible}
          />
        )}
      </div>
    </div>
  );
}

function fieldOf(step: Step, name: string): Field | undefined {
  return step.fields.find((field) => field.name === name);
}

function powerRefusal({ sign, digits, quarter }: LensReading, band: NonNullable<Field["refuse"]>): string {
  const typed = `${sign ?? ""}${digits}.${String(quarter ?? 0).padStart(2, "0")} D`;
  return liveText.editor.refused(fieldWord("", "power_cdpt"), typed, possibleRange("power_cdpt", band));
}

function dayRefusal(step: Step, typed: string): string | undefined {
  const field = fieldOf(step, "expiry");
  if (field === undefined || typed === "" || isDay(typed)) return undefined;
  return refusal(fieldWord(step.step, "expiry"), typed, field);
}

function Covered() {
  return (
    <p class="covered">
      <span>{liveText.lens.covered}</span>
    </p>
  );
}

interface ReadSoFarProps {
  readonly step: Step;
  readonly reading: LensReading;
  readonly refused: string | undefined;
  readonly onClear: () => void;
}

function ReadSoFar({ step, reading, refused, onClear }: ReadSoFarProps) {
  const { sign, digits, quarter } = reading;
  const source = step.blind
    ? liveText.lens.fromBox
    : step.readback
      ? liveText.lens.fromOriginal
      : liveText.lens.spoken;
  const shownSign = sign === "-" ? "\u2212" : sign;
  return (
    <div class={`read-so-far ${refused === undefined ? "" : "refused"}`}>
      <p class="model-read">
        <span>{source}</span> {reading.model}
      </p>
      <p class="power-read" aria-live="polite">
        <Place shown={shownSign} />
        <Place shown={digits.length > 0 ? digits : null} wide />
        <i class="point">.</i>
        <Place shown={quarter === null ? null : String(quarter).padStart(2, "0")} wide />
        <i class="unit">D</i>
      </p>
      <Slab label={liveText.lens.clear} look="mid" onPress={onClear} />
      {refused === undefined ? null : (
        <p class="refusal" role="alert">
          {refused}
        </p>
      )}
    </div>
  );
}

function Place({ shown, wide = false }: { readonly shown: string | null; readonly wide?: boolean }) {
  const look = `${shown === null ? "to-read" : ""} ${wide ? "wide" : ""}`;
  return <i class={look}>{shown ?? ""}</i>;
}

interface KeysProps {
  readonly reading: LensReading;
  readonly models: readonly string[];
  readonly onRead: (reading: LensReading) => void;
}

function Keys({ reading, models, onRead }: KeysProps) {
  const [isOther, setOther] = useState(false);
  const choose = (model: string) => {
    setOther(false);
    onRead({ ...reading, model });
  };
  return (
    <div class="keys">
      <div class="slabs narrow" role="group" aria-label={liveText.lens.model}>
        {models.map((model) => (
          <Key
            key={model}
            label={model}
            isOn={!isOther && reading.model === model}
            onPress={() => choose(model)}
          />
        ))}
        <Key label={liveText.lens.otherModel} isOn={isOther} onPress={() => setOther(true)} />
      </div>
      {isOther ? (
        <TextField
          label={liveText.lens.otherModel}
          value={models.includes(reading.model) ? "" : reading.model}
          autoCapitalize="characters"
          onInput={(model) => onRead({ ...reading, model })}
        />
      ) : null}
      <div class="digit-keys" role="group" aria-label={`${liveText.lens.sign}, ${liveText.lens.digits}`}>
        <Key
          label="+"
          read={liveText.lens.plus}
          isOn={reading.sign === "+"}
          onPress={() => onRead({ ...reading, sign: "+" })}
        />
        <Key
          label={"\u2212"}
          read={liveText.lens.minus}
          isOn={reading.sign === "-"}
          onPress={() => onRead({ ...reading, sign: "-" })}
        />
        {DIGITS.map((digit) => (
          <Key key={digit} label={digit} onPress={() => onRead(withDigit(reading, digit))} />
        ))}
      </div>
      <div class="quarter-keys" role="group" aria-label={liveText.lens.quarter}>
        {QUARTERS.map((quarter) => (
          <Key
            key={quarter}
            label={`0.${String(quarter).padStart(2, "0")}`}
            isOn={reading.quarter === quarter}
            onPress={() => onRead({ ...reading, quarter })}
          />
        ))}
      </div>
    </div>
  );
}

interface KeyProps {
  readonly label: string;
  readonly read?: string;
  readonly isOn?: boolean;
  readonly onPress: () => void;
}

/** A key that stays chosen (model, sign, quarter) says so; a digit does not. */
function Key({ label, read, isOn, onPress }: KeyProps) {
  return (
    <button
      type="button"
      class="slab mid"
      aria-label={read}
      {...(isOn === undefined ? {} : { "aria-pressed": isOn })}
      onClick={onPress}
    >
      <span>{label}</span>
    </button>
  );
}
