/** Random case files for properties: a clean operation, then spoiled in places. */
import * as fc from "fast-check";

import type { Json, JsonObject } from "../../src/core/json.ts";
import type { Field } from "../../src/core/protocol.ts";
import { draft, protocol, type DraftCase, type DraftEvent } from "./draftCase.ts";

const TEXTS = [
  "AURA-1",
  "BREVA-T",
  "cefuroxime",
  "moxifloxacin",
  "gentamicin",
  "trypan_blue",
  "balanced_salt",
  "",
];
const WHOLES = [0, 1, 2, 80, 100, 120, 121, 250, 301, 400, 900, 2150, 2200, 3001, 5000, 5501, 10_000, 35_000];

function valueOf(field: Field): fc.Arbitrary<Json> {
  switch (field.type) {
    case "boolean":
      return fc.boolean();
    case "whole":
      return fc.oneof(fc.constantFrom(...WHOLES), fc.integer({ min: -3000, max: 70_000 }));
    case "text":
      return fc.constantFrom(...TEXTS);
    case "one_of":
      return fc.constantFrom(...(field.choices ?? []));
    case "some_of":
      return fc.array(fc.constantFrom(...(field.choices ?? [])), { maxLength: 3 });
    case "counts":
      return fc.dictionary(fc.constantFrom("sharps", "swabs", "__proto__"), fc.integer({ min: 0, max: 6 }));
    case "dilutions":
      return fc.array(fc.record({ take_ul: fc.constantFrom(0, 1000), add_ul: fc.constantFrom(0, 9000) }), {
        maxLength: 2,
      });
    case "day":
      return fc.constantFrom("2026-11-23", "2026-11-24", "2030-01-01");
  }
}

const CHAIN = ["vial_ug", "diluent_ul", "then"];

function valueOfStep(step: (typeof protocol.steps)[number]): fc.Arbitrary<JsonObject> {
  const fields = step.fields.map((field) => fc.tuple(fc.constant(field.name), fc.option(valueOf(field))));
  return fc.tuple(...fields).map((members) => {
    const given = members.filter(([, found]) => found !== null);
    const hasStrength = given.some(([name]) => name === "strength_ug_ml");
    return Object.fromEntries(given.filter(([name]) => !hasStrength || !CHAIN.includes(name)));
  });
}

const at_ms = fc.oneof(
  fc.constantFrom(...draft().events.map((event) => event.at_ms)),
  fc.integer({ min: -1, max: 1 }),
);

const stepEvent = fc
  .constantFrom(...protocol.steps)
  .chain((step) =>
    fc.record({ type: fc.constant("step"), step: fc.constant(step.step), value: valueOfStep(step) }),
  );
const otherEvent: fc.Arbitrary<{ readonly type: string; readonly [name: string]: Json }> = fc.oneof(
  fc.record({ type: fc.constant("room"), moment: fc.constantFrom("patient_in", "patient_out") }),
  fc.record({ type: fc.constant("fault"), stage: fc.constantFrom("before", "during") }),
  fc.record({ type: fc.constant("breach"), reached_eye: fc.boolean() }),
  fc.record({ type: fc.constant("complication"), what: fc.constantFrom("capsule_tear", "bleed") }),
  fc.record({
    type: fc.constant("not_done"),
    step: fc.constantFrom("hydrodissection", "dye", "unheard-of"),
    reason: fc.constantFrom("posterior_polar", "no_time"),
  }),
  fc.record({ type: fc.constant("unheard-of") }),
);
const correction = fc.record({
  type: fc.constant("correct"),
  corrects: fc.constantFrom(...draft().events.map(({ id }) => id), "later"),
  isVoid: fc.boolean(),
});

const added = fc.tuple(at_ms, fc.constantFrom(0, 1000, 60_001), fc.oneof(stepEvent, stepEvent, otherEvent));

/** Corrections of the clean case's records: void, or back to the value of the clean case. */
function corrected(
  drafted: DraftCase,
  { corrects, isVoid }: { corrects: string; isVoid: boolean },
): JsonObject {
  const value = drafted.events.find(({ id }) => id === corrects)?.["value"] ?? {};
  return isVoid ? { corrects, void: true } : { corrects, value };
}

export const anyCase: fc.Arbitrary<DraftCase> = fc
  .record({
    eye: fc.constantFrom("right", "left"),
    anaesthesia: fc.constantFrom("topical", "block"),
    red_reflex: fc.constantFrom("good", "poor"),
    drug: fc.constantFrom("cefuroxime", "moxifloxacin"),
    isDry: fc.boolean(),
    missing: fc.subarray(
      draft().events.map(({ id }) => id),
      { maxLength: 6 },
    ),
    added: fc.array(added, { maxLength: 12 }),
    corrections: fc.array(fc.tuple(at_ms, correction), { maxLength: 4 }),
  })
  .map(({ isDry, missing, added: more, corrections, ...plan }) => {
    const drafted = draft().without(...missing);
    Object.assign(drafted.plan, plan);
    drafted.plan.lens.dry_state_hydrophilic = isDry;
    for (const [time_ms, late_ms, { type, ...members }] of more) {
      drafted.add(type, { ...members, entered_ms: time_ms + late_ms }, time_ms);
    }
    for (const [time_ms, members] of corrections)
      drafted.add("correct", corrected(drafted, members), time_ms);
    return drafted;
  });

/** The same case with other events. */
export function withEvents(drafted: DraftCase, events: readonly DraftEvent[]): DraftCase {
  const other = draft();
  other.plan = drafted.plan;
  other.unit = drafted.unit;
  other.events = [...events];
  return other;
}
