/** How a whole number in its base unit is shown to people: unit word, decimals and the size of one press. */

/** `perShown`: base units in one shown unit; `press`: base units added by one press on plus. */
export interface Unit {
  readonly word: string;
  readonly perShown: number;
  readonly decimals: number;
  readonly keepZeros: boolean;
  readonly signed: boolean;
  readonly press: number;
}

interface UnitBySuffix extends Unit {
  readonly suffix: string;
}

// The longer ending stands first: `_ul_min` before `_ul`, `_ug_ml` before `_ug`.
const UNITS: readonly UnitBySuffix[] = [
  {
    suffix: "_ul_min",
    word: "mL/min",
    perShown: 1000,
    decimals: 1,
    keepZeros: false,
    signed: false,
    press: 1000,
  },
  {
    suffix: "_ug_ml",
    word: "mg/mL",
    perShown: 1000,
    decimals: 3,
    keepZeros: false,
    signed: false,
    press: 500,
  },
  { suffix: "_ug", word: "mg", perShown: 1000, decimals: 3, keepZeros: false, signed: false, press: 50_000 },
  { suffix: "_ul", word: "mL", perShown: 1000, decimals: 3, keepZeros: false, signed: false, press: 50 },
  { suffix: "_um", word: "mm", perShown: 1000, decimals: 1, keepZeros: true, signed: false, press: 100 },
  { suffix: "_cdpt", word: "D", perShown: 100, decimals: 2, keepZeros: true, signed: true, press: 25 },
  { suffix: "_mmhg", word: "mmHg", perShown: 1, decimals: 0, keepZeros: false, signed: false, press: 10 },
  { suffix: "_s", word: "min", perShown: 60, decimals: 2, keepZeros: false, signed: false, press: 30 },
];

const PRESSES: Readonly<Record<string, number>> = {
  diluent_ul: 500,
  take_ul: 500,
  add_ul: 500,
  pressure_mmhg: 1,
};

const PLAIN: Unit = { word: "", perShown: 1, decimals: 0, keepZeros: false, signed: false, press: 1 };

/** The unit that the ending of a field's name stands for; a name without one is a plain count. */
export function unitOf(fieldName: string): Unit {
  const found = UNITS.find((unit) => fieldName.endsWith(unit.suffix)) ?? PLAIN;
  return { ...found, press: PRESSES[fieldName] ?? found.press };
}
