/** What holds of every judgement, whatever the case. */
import * as fc from "fast-check";
import { describe, expect, test } from "vitest";

import type { JsonObject } from "../../../src/core/json.ts";
import { anyCase, withEvents } from "../../support/anyCase.ts";
import { draft, type DraftEvent } from "../../support/draftCase.ts";

function isCaughtKind(kind: string): boolean {
  return ["readback_mismatch", "count", "dose", "contraindicated", "wrong_setting", "contamination"].includes(
    kind,
  );
}

describe("a judgement does not depend on", () => {
  test("the order in which events arrive", () => {
    const shuffled = anyCase.chain((drafted) =>
      fc.tuple(
        fc.constant(drafted),
        fc.shuffledSubarray(drafted.events, { minLength: drafted.events.length }),
      ),
    );
    fc.assert(
      fc.property(shuffled, ([drafted, events]) => {
        expect(withEvents(drafted, events).judged()).toEqual(drafted.judged());
      }),
    );
  });

  test("repeats", () => {
    const repeated = anyCase.chain((drafted) => fc.tuple(fc.constant(drafted), fc.subarray(drafted.events)));
    fc.assert(
      fc.property(repeated, ([drafted, again]) => {
        expect(withEvents(drafted, [...again, ...drafted.events]).judged()).toEqual(drafted.judged());
      }),
    );
  });

  test("a constant error of the clock, the expiry of the lens box excepted", () => {
    const noExpiry = (event: DraftEvent): DraftEvent => {
      const { expiry: _expiry, ...value } = (event["value"] ?? {}) as JsonObject;
      return event["step"] === "lens-box" ? { ...event, value } : event;
    };
    const shift = fc.integer({ min: -4_000_000_000_000, max: 4_000_000_000_000 });
    fc.assert(
      fc.property(anyCase, shift, (drafted, shift_ms) => {
        const before = withEvents(drafted, drafted.events.map(noExpiry));
        const shifted = before.events.map((event) => ({
          ...event,
          at_ms: event.at_ms + shift_ms,
          entered_ms: event.entered_ms + shift_ms,
        }));
        expect(withEvents(drafted, shifted).judged()).toEqual(before.judged());
      }),
    );
  });

  test("what this version cannot read, but for the count of it", () => {
    fc.assert(
      fc.property(anyCase, (drafted) => {
        const before = drafted.judged();
        const after = drafted.add("unheard-of", { step: "rhexis", value: null }, 0).judged();
        expect(after).toEqual({ ...before, unread: before.unread + 1 });
      }),
    );
  });

  test("fields that this version does not know", () => {
    fc.assert(
      fc.property(anyCase, (drafted) => {
        const noted = drafted.events.map((event) => ({ ...event, note: null }));
        expect(withEvents(drafted, noted).judged()).toEqual(drafted.judged());
      }),
    );
  });
});

describe("every judgement", () => {
  test("of an open case is that of the closed one without what was omitted", () => {
    fc.assert(
      fc.property(anyCase, (drafted) => {
        const closed = drafted.judged();
        const open = drafted.judged({ isOpen: true });
        const deviations = closed.deviations.filter(({ kind }) => kind !== "omitted");
        expect(open).toEqual({ ...closed, deviations });
      }),
    );
  });

  test("for the sign-off screen is the closed one without the surgeon's own step", () => {
    fc.assert(
      fc.property(anyCase, (drafted) => {
        const closed = drafted.judged();
        const deviations = closed.deviations.filter(({ step }) => step !== "surgeon-sign-off");
        expect(drafted.judged({ withoutSignOff: true })).toEqual({ ...closed, deviations });
      }),
    );
  });

  test("is sorted by step, kind and key, with one deviation for each key and a detail in words", () => {
    fc.assert(
      fc.property(anyCase, (drafted) => {
        const { deviations } = drafted.judged();
        const places = deviations.map(({ step, kind, key }) => `${step}\0${kind}\0${key}`);
        expect(places).toEqual(places.toSorted((a, b) => (a < b ? -1 : 1)));
        expect(new Set(deviations.map(({ key }) => key)).size).toBe(deviations.length);
        for (const { step, kind, key, detail } of deviations) {
          expect(key.startsWith(`${step}/${kind}`)).toBe(true);
          expect(detail).not.toBe("");
        }
      }),
    );
  });

  test("calls caught only what can be caught", () => {
    fc.assert(
      fc.property(anyCase, (drafted) => {
        const caught = drafted.judged().deviations.filter((deviation) => deviation.caught);
        expect(caught.filter(({ kind }) => !isCaughtKind(kind))).toEqual([]);
      }),
    );
  });

  test("has a chance for every deviation of a step, and no more hub events than injections", () => {
    fc.assert(
      fc.property(anyCase, (drafted) => {
        const { deviations, steps, injections, hubEvents } = drafted.judged();
        for (const { step } of deviations) expect(step === "case" || steps.has(step)).toBe(true);
        for (const [step, count] of injections) {
          const events = [...hubEvents].filter(([key]) => key.startsWith(`${step}/`)).map(([, held]) => held);
          expect(events.reduce((sum, held) => sum + held, 0)).toBeLessThanOrEqual(count);
        }
      }),
    );
  });

  test("of one case is the same twice, and changes nothing in the case", () => {
    const drafted = draft().change("time-out", { eye: "left" });
    const before = JSON.stringify(drafted.file());
    expect(drafted.judged()).toEqual(drafted.judged());
    expect(JSON.stringify(drafted.file())).toBe(before);
  });
});
