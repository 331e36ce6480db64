/** STOP comes when a record would raise, newly or again, what the protocol says must stop; and at nothing else. */
import { describe, expect, it } from "vitest";

import type { CaseEvent } from "../../src/core/caseFile.ts";
import type { CaseFileDocument } from "../../src/core/caseFold.ts";
import type { JsonObject } from "../../src/core/json.ts";
import { wouldStop } from "../../src/core/stop.ts";
import { DOSE, HELD, LENS, protocol } from "../support/draftCase.ts";

const PLAN = {
  eye: "right",
  anaesthesia: "topical",
  red_reflex: "good",
  lens: { ...LENS, optic_um: 6000, dry_state_hydrophilic: false },
  drug: "cefuroxime",
} as const;

let entered = 0;

function event(step: string, value: JsonObject, at_ms = (entered += 60_000)): CaseEvent {
  return { id: `e${at_ms}`, type: "step", step, at_ms, entered_ms: at_ms, value };
}

function caseWith(...events: readonly CaseEvent[]): CaseFileDocument {
  return { protocol: protocol.protocol, case: "c", plan: PLAN, unit: {}, events };
}

function kindOf(caseFile: CaseFileDocument, step: string, value: JsonObject): string | null {
  return wouldStop(protocol, caseFile, event(step, value))?.kind ?? null;
}

describe("STOP", () => {
  it.each([
    ["patient-identity", { match: false }, "readback_mismatch"],
    ["marked-eye", { eye: "left" }, "readback_mismatch"],
    ["time-out", { eye: "left" }, "readback_mismatch"],
    ["lens-plan", { ...LENS, power_cdpt: -2150 }, "readback_mismatch"],
    ["lens-box", { ...LENS, model: "AURA-3P" }, "readback_mismatch"],
    ["wound-hydration", { ...HELD, syringe_label: "viscoelastic" }, "readback_mismatch"],
    ["drug-check", { ...DOSE, strength_ug_ml: 100_000 }, "dose"],
    ["intracameral-drug", { ...DOSE, ...HELD, volume_ul: 10 }, "dose"],
    ["dye", { dye: "trypan_blue", strength_ug_ml: 600, volume_ul: 700, in_eye: true, ...HELD }, "dose"],
  ])("comes at %s that reads %j: %s", (step, value, kind) => {
    expect(kindOf(caseWith(), step, value)).toBe(kind);
  });

  it.each([
    ["marked-eye", { eye: "right" }],
    ["lens-box", LENS],
    ["drug-check", DOSE],
    ["intracameral-drug", { ...DOSE, ...HELD }],
    ["main-wound", { width_um: 3200 }],
    ["viscoelastic-fill", { ...HELD, hub_held: false }],
    ["seal-check", { state: "leak" }],
    ["posterior-capsule", { state: "torn" }],
    ["ultrasound-mode", { mode: "vitrectomy" }],
    ["antiseptic", { contact_s: 180, agent: "chlorhexidine" }],
    ["lens-placed", { ...LENS, power_cdpt: 2000, site: "bag" }],
  ])("does not come at %s that reads %j", (step, value) => {
    expect(kindOf(caseWith(), step, value)).toBeNull();
  });

  it("comes at a drug or a dye that was not planned", () => {
    const given = { drug: "moxifloxacin", strength_ug_ml: 5000, volume_ul: 100, ...HELD };
    expect(kindOf(caseWith(), "intracameral-drug", given)).toBe("substitution");
    const dye = { dye: "methylene_blue", strength_ug_ml: 600, in_eye: true, ...HELD };
    expect(wouldStop(protocol, caseWith(), event("dye", dye))?.grade).toBe("G4");
  });

  it("comes at what an allergy bars, before and after it was given, and says where it stands", () => {
    const allergic = event("allergies", { allergies: ["cephalosporin"] });
    expect(kindOf(caseWith(allergic), "drug-check", DOSE)).toBe("contraindicated");
    const given = event("antiseptic", { contact_s: 180 });
    const stop = wouldStop(protocol, caseWith(given), event("allergies", { allergies: ["iodine"] }));
    expect(stop).toMatchObject({ kind: "contraindicated", step: "antiseptic", grade: "G3" });
  });

  it("comes again when the second reading is wrong too, and not when it agrees", () => {
    const wrong = event("lens-box", { ...LENS, power_cdpt: 2250 });
    expect(kindOf(caseWith(wrong), "lens-box", { ...LENS, power_cdpt: 2250 })).toBe("readback_mismatch");
    expect(kindOf(caseWith(wrong), "lens-box", LENS)).toBeNull();
    expect(kindOf(caseWith(wrong, event("lens-box", LENS)), "lens-box", LENS)).toBeNull();
  });

  it("does not come at other steps because an earlier mismatch stands", () => {
    const wrong = event("marked-eye", { eye: "left" });
    expect(kindOf(caseWith(wrong), "machine-ready", {})).toBeNull();
    expect(kindOf(caseWith(wrong), "allergies", { allergies: ["none"] })).toBeNull();
  });

  it("comes each time that doses of one drug add up to more", () => {
    const once = event("intracameral-drug", { ...DOSE, ...HELD });
    const twice = event("intracameral-drug", { ...DOSE, ...HELD });
    expect(kindOf(caseWith(once), "intracameral-drug", { ...DOSE, ...HELD })).toBe("dose");
    expect(kindOf(caseWith(once, twice), "intracameral-drug", { ...DOSE, ...HELD })).toBe("dose");
  });

  it("shows the worst where a record raises several, with the value that was read", () => {
    const read = { ...DOSE, ...HELD, drug: "not-on-the-list" };
    expect(wouldStop(protocol, caseWith(), event("intracameral-drug", read))).toMatchObject({
      kind: "substitution",
      grade: "G4",
      read,
    });
  });

  it("comes at a correction that makes a good reading a wrong one", () => {
    const good = event("marked-eye", { eye: "right" });
    const at_ms = good.at_ms + 1_000;
    const correction = {
      id: "c1",
      type: "correct",
      corrects: good.id,
      at_ms,
      entered_ms: at_ms,
      value: { eye: "left" },
    };
    expect(wouldStop(protocol, caseWith(good), correction)?.kind).toBe("readback_mismatch");
  });
});
