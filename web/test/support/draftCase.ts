/** A case file to change in a test: it begins as an operation in which nothing deviates. */
import { readFileSync } from "node:fs";

import { read } from "../../src/core/caseFile.ts";
import type { Json, JsonObject } from "../../src/core/json.ts";
import type { Judgement } from "../../src/core/judge/deviation.ts";
import { judge, type JudgeOptions } from "../../src/core/judge/judge.ts";
import { load, type Protocol } from "../../src/core/protocol.ts";
import { parse } from "../../src/core/strictJson.ts";

const PROTOCOL_FILE = new URL("../../../shared/protocol/phaco-cataract.json", import.meta.url);

export const protocolText = readFileSync(PROTOCOL_FILE, "utf-8");
export const protocol = load(parse(protocolText));

export const START_MS = Date.UTC(2026, 10, 24, 9);
const MINUTE_MS = 60_000;

export const HELD = { lock_checked: true, hub_held: true };
export const LENS = { model: "AURA-1", power_cdpt: 2150 };
export const DOSE = { drug: "cefuroxime", strength_ug_ml: 10_000, volume_ul: 100 };
const COUNT = { sharps: 4, swabs: 2 };

const CLEAN: readonly (readonly [string, JsonObject])[] = [
  ["team-brief", {}],
  ["machine-ready", {}],
  ["patient-identity", { match: true }],
  ["marked-eye", { eye: "right" }],
  ["allergies", { allergies: ["none"] }],
  ["antiseptic", { contact_s: 180 }],
  ["time-out", { eye: "right" }],
  ["lens-plan", LENS],
  ["drug-check", DOSE],
  ["syringe-labels", {}],
  ["opening-count", { items: COUNT }],
  ["main-wound", { width_um: 2200 }],
  ["viscoelastic-fill", HELD],
  ["rhexis", { diameter_um: 5000, continuous: true }],
  ["hydrodissection", HELD],
  ["ultrasound-mode", { mode: "segment", vacuum_mmhg: 350, flow_ul_min: 35_000 }],
  ["cortex-mode", { mode: "cortex", vacuum_mmhg: 450, flow_ul_min: 35_000 }],
  ["posterior-capsule", { state: "intact" }],
  ["viscoelastic-bag", HELD],
  ["lens-box", LENS],
  ["lens-placed", { ...LENS, site: "bag" }],
  ["washout-mode", { mode: "ovd_removal", vacuum_mmhg: 450, flow_ul_min: 45_000 }],
  ["washout", { front: true, behind: true }],
  ["wound-hydration", { ...HELD, syringe_label: "balanced_salt" }],
  ["seal-check", { state: "dry" }],
  ["intracameral-drug", { ...DOSE, ...HELD }],
  ["final-look", { state: "dry", tone: "normal" }],
  ["closing-count", { added: {}, out: COUNT }],
  ["sign-out", { operation: true, lens: true, drug: true, problems: true, aftercare: true }],
  ["surgeon-sign-off", {}],
];

export interface DraftEvent {
  id: string;
  type: string;
  at_ms: number;
  entered_ms: number;
  [name: string]: Json;
}

/** Steps stand a minute apart, so that `at(step)` plus or minus less than a minute lies between two of them. */
export class DraftCase {
  plan = {
    eye: "right",
    anaesthesia: "topical",
    red_reflex: "good",
    lens: { ...LENS, optic_um: 6000, dry_state_hydrophilic: false },
    drug: "cefuroxime",
  };
  unit: { [name: string]: Json } = {};
  events: DraftEvent[] = CLEAN.map(([step, value], index) => {
    const at_ms = START_MS + index * MINUTE_MS;
    return { id: step, type: "step", step, at_ms, entered_ms: at_ms, value };
  });

  /** The clean case's own event of a step. */
  of(step: string): DraftEvent {
    const event = this.events.find(({ id }) => id === step);
    if (event === undefined) throw new Error(`the clean case has no ${step}`);
    return event;
  }

  at(step: string): number {
    return this.of(step).at_ms;
  }

  without(...steps: readonly string[]): this {
    this.events = this.events.filter(({ id }) => !steps.includes(id));
    return this;
  }

  /** Changes members of the step's value; undefined takes one away. */
  change(step: string, changes: { readonly [name: string]: Json | undefined }): this {
    const value = { ...(this.of(step)["value"] as JsonObject), ...changes };
    const kept = Object.entries(value).filter(([, member]) => member !== undefined);
    this.of(step)["value"] = Object.fromEntries(kept) as JsonObject;
    return this;
  }

  move(step: string, at_ms: number): this {
    Object.assign(this.of(step), { at_ms, entered_ms: at_ms });
    return this;
  }

  /** Adds a record at a time, entered at once. */
  record(step: string, value: JsonObject, at_ms: number, more: JsonObject = {}): this {
    return this.add("step", { step, value, ...more }, at_ms);
  }

  add(type: string, members: { readonly [name: string]: Json }, at_ms: number): this {
    this.events.push({ id: `x${this.events.length}`, type, at_ms, entered_ms: at_ms, ...members });
    return this;
  }

  /** Opens the torn-capsule branch, every step of it done between the capsule and the next step. */
  tear(): this {
    const at_ms = this.at("posterior-capsule");
    const aftercare = { review: true, pressure_plan: true, retina: true, patient_told: true };
    return this.change("posterior-capsule", { state: "torn", vitreous: false })
      .record("tear-hold", {}, at_ms + 5_000)
      .record("vitrectomy-mode", { vitreous: false }, at_ms + 10_000)
      .record("new-lens-plan", { ...LENS, site: "bag" }, at_ms + 15_000)
      .record("wounds-swept", {}, at_ms + 20_000)
      .record("wound-suture", { sutures: 0 }, this.at("wound-hydration") + 5_000)
      .record("tear-aftercare", aftercare, this.at("sign-out") + 5_000);
  }

  file(): JsonObject {
    return { case: "c1", plan: this.plan, unit: this.unit, events: this.events };
  }

  /** Judged after a way through text and the strict reader, as a file would be. */
  judged(options: JudgeOptions = {}, by: Protocol = protocol): Judgement {
    return judge(read(parse(JSON.stringify(this.file())), by), by, options);
  }

  /** Grade and whether it was caught of one deviation, by its key; undefined where it is not raised. */
  found(key: string, options: JudgeOptions = {}): string | undefined {
    const deviation = this.judged(options).deviations.find((one) => one.key === key);
    if (deviation === undefined) return undefined;
    return deviation.caught ? `${deviation.grade} caught` : deviation.grade;
  }

  /** All deviations as "key grade". */
  all(options: JudgeOptions = {}): readonly string[] {
    return this.judged(options).deviations.map(({ key, grade }) => `${key} ${grade}`);
  }
}

export function draft(): DraftCase {
  return new DraftCase();
}
