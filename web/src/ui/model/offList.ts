/** The plan of a case that is not on the list, as typed: what is missing, what is refused, and the whole plan. */
import type { Plan } from "../../core/caseFile.ts";
import { readTyped } from "../format/typed.ts";
import { pageText } from "../text/en.ts";

/** A reference is 4 to 12 of A-Z and 0-9 with at least two letters and no run of more than four digits. */
export function isReference(text: string): boolean {
  const letters = text.replaceAll(/[^A-Z]/g, "").length;
  return /^[A-Z0-9]{4,12}$/.test(text) && letters >= 2 && !/\d{5}/.test(text);
}

export interface OffListDraft {
  readonly reference: string;
  readonly eye: string | null;
  readonly anaesthesia: string | null;
  readonly red_reflex: string | null;
  readonly model: string;
  readonly power: string;
  readonly optic: string;
  readonly dryState: boolean | null;
  readonly drug: string | null;
}

export const EMPTY_OFF_LIST: OffListDraft = {
  reference: "",
  eye: null,
  anaesthesia: null,
  red_reflex: null,
  model: "",
  power: "",
  optic: "",
  dryState: null,
  drug: null,
};

/** `plan`: null until nothing is missing or refused. */
export interface OffListReading {
  readonly plan: Plan | null;
  readonly missing: readonly string[];
  readonly refused: { readonly reference?: string; readonly power?: string; readonly optic?: string };
}

const POWER_BAND = { below: -1000, above: 4000, multiple_of: 25 };
const OPTIC_BAND = { below: 4000, above: 8000, multiple_of: 10 };

export function readOffList(draft: OffListDraft): OffListReading {
  const { offList } = pageText;
  const power = readTyped(draft.power, "power_cdpt", POWER_BAND);
  const optic = readTyped(draft.optic, "optic_um", OPTIC_BAND);
  const refused = {
    ...(draft.reference !== "" && !isReference(draft.reference)
      ? { reference: offList.referenceRefused(draft.reference) }
      : {}),
    ...(power.kind !== "whole" && power.kind !== "empty" ? { power: offList.powerRefused(draft.power) } : {}),
    ...(optic.kind !== "whole" && optic.kind !== "empty" ? { optic: offList.opticRefused(draft.optic) } : {}),
  };
  const missing = missingOf(draft);
  const isWhole =
    missing.length === 0 &&
    Object.keys(refused).length === 0 &&
    power.kind === "whole" &&
    optic.kind === "whole";
  return { plan: isWhole ? planOf(draft, power.whole, optic.whole) : null, missing, refused };
}

function missingOf(draft: OffListDraft): readonly string[] {
  const { offList } = pageText;
  const given: readonly (readonly [string, unknown])[] = [
    [offList.reference, draft.reference],
    [offList.eye, draft.eye],
    [offList.anaesthesia, draft.anaesthesia],
    [offList.redReflex, draft.red_reflex],
    [offList.model, draft.model.trim()],
    [offList.power, draft.power],
    [offList.optic, draft.optic],
    [offList.dryState, draft.dryState],
    [offList.drug, draft.drug],
  ];
  return given
    .filter(([, value]) => value === null || value === "")
    .map(([label]) => label.replace(/\?$/, "").toLowerCase());
}

function planOf(draft: OffListDraft, power_cdpt: number, optic_um: number): Plan {
  const lens = {
    model: draft.model.trim(),
    power_cdpt,
    optic_um,
    dry_state_hydrophilic: draft.dryState === true,
  };
  const { eye, anaesthesia, red_reflex, drug } = draft;
  return { eye, anaesthesia, red_reflex, lens, drug } as Plan;
}
