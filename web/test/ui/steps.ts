/** Steps of the protocol file, entries of a case, and the unit's offers, for the tests of the screens' models. */
import { readFileSync } from "node:fs";

import type { CaseFileDocument } from "../../src/core/caseFold.ts";
import type { CaseEvent } from "../../src/core/caseFile.ts";
import type { JsonObject } from "../../src/core/json.ts";
import { stepsOf, type Step } from "../../src/core/protocol.ts";
import { readUnitValues } from "../../src/core/unitValues.ts";
import type { CaseView, UnitSettings } from "../../src/state/index.ts";
import type { StepContext } from "../../src/ui/model/answers.ts";
import { ledgerOf } from "../../src/ui/model/ledger.ts";
import { openCase, type OpenCase } from "../../src/ui/model/openCase.ts";
import { read } from "../../src/core/caseFile.ts";
import { judge } from "../../src/core/judge/judge.ts";
import { draft, protocol, START_MS, type DraftCase } from "../support/draftCase.ts";

const SETTINGS_FILE = new URL("../../../shared/unit/settings.json", import.meta.url);

export const settings = JSON.parse(readFileSync(SETTINGS_FILE, "utf-8")) as UnitSettings;

export function stepOf(code: string): Step {
  const step = stepsOf(protocol).get(code);
  if (step === undefined) throw new Error(`no step ${code}`);
  return step;
}

/** Step events in the order given, a second apart. */
export function events(...records: readonly (readonly [string, JsonObject])[]): CaseEvent[] {
  return records.map(([step, value], index) => {
    const at_ms = START_MS + index * 1000;
    return { id: `e${index}`, type: "step", step, at_ms, entered_ms: at_ms, value };
  });
}

export function contextOf(code: string, recorded: readonly CaseEvent[] = []): StepContext {
  return {
    protocol,
    step: stepOf(code),
    ledger: ledgerOf(recorded),
    unit: readUnitValues({}, protocol),
    settings,
    plannedDrug: "cefuroxime",
  };
}

type Meta = CaseView["meta"];

const META: Meta = {
  case: "u_2026-11-24_AB12_right",
  list: null,
  date: "2026-11-24",
  reference: "AB12",
  unit: "u",
  time_zone: "UTC",
  unit_values_number: 0,
  practice: false,
  on_list: true,
  opened_count: 1,
  moved_to: null,
  not_operated: null,
  sign_off: null,
  flags: [],
  unread: 0,
  patient_in_ms: null,
  patient_out_ms: null,
  first_ms: null,
  entries: [],
};

/** A draft case as the screens hold it. */
export function opened(drafted: DraftCase, meta: Partial<Meta> = {}): OpenCase {
  const caseFile = { protocol: protocol.protocol, ...drafted.file() } as unknown as CaseFileDocument;
  const file = read(caseFile, protocol);
  const view = {
    caseId: META.case,
    caseFile,
    meta: { ...META, ...meta },
    open: judge(file, protocol, { isOpen: true }),
    closed: judge(file, protocol, { withoutSignOff: true }),
    receivedAll: true,
    signedBeforeLater: false,
  };
  return openCase(view, protocol, 1);
}

export { draft, protocol, START_MS };
