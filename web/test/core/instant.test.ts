/** Instants come from what was stored at the tap alone; ids sort by time; a steady clock keeps its offset in a case. */
import { describe, expect, it } from "vitest";

import { instantsOf, measuredOffset, offsetFrom, setBack_ms, uuid7 } from "../../src/core/instant.ts";

const CLOCK = {
  wall_ms: 1_764_000_000_000,
  mono_ms: 5,
  boot: "b",
  utc_offset_min: 60,
  ago_ms: 0,
  offset_ms: null,
  offset_error_ms: null,
};

describe("instants", () => {
  it("are the wall clock set right by the offset, less how long ago it was", () => {
    expect(instantsOf({ ...CLOCK, offset_ms: -2_000, ago_ms: 30_000 })).toEqual({
      entered_ms: 1_763_999_998_000,
      at_ms: 1_763_999_968_000,
    });
  });

  it("are the wall clock where no offset was known", () => {
    expect(instantsOf(CLOCK)).toEqual({ entered_ms: CLOCK.wall_ms, at_ms: CLOCK.wall_ms });
  });

  it.each([
    ["no clock", undefined],
    ["no object", "now"],
    ["no wall clock", { ...CLOCK, wall_ms: null }],
    ["an ago that is text", { ...CLOCK, ago_ms: "5" }],
    ["an offset that is text", { ...CLOCK, offset_ms: "5" }],
    ["a sum beyond 2^53", { ...CLOCK, wall_ms: Number.MAX_SAFE_INTEGER, offset_ms: 5 }],
  ])("cannot be told with %s", (_words, clock) => {
    expect(instantsOf(clock)).toBeNull();
  });
});

describe("the offset to the server's clock", () => {
  it("is measured at half the way, and is no better than half of it", () => {
    expect(measuredOffset(1_000, 1_101, 11_050)).toEqual({ offset_ms: 10_000, error_ms: 51 });
  });

  it("is taken as measured while no case is open", () => {
    const measured = { offset_ms: 130, error_ms: 40 };
    expect(offsetFrom(null, measured, true)).toBe(measured);
    expect(offsetFrom({ offset_ms: 100, error_ms: 20 }, measured, false)).toBe(measured);
  });

  it("stays in an open case while the clocks agree within their errors and a second, and is followed beyond", () => {
    const known = { offset_ms: 100, error_ms: 20 };
    const near = { offset_ms: 1_160, error_ms: 40 };
    expect(offsetFrom(known, near, true)).toBe(known);
    const far = { offset_ms: 1_161, error_ms: 40 };
    expect(offsetFrom(known, far, true)).toBe(far);
  });
});

describe("a wall clock", () => {
  const before = { wall_ms: 50_000, mono_ms: 1_000, boot: "b" };

  it("was set back by what it then lacks against the steady clock, beyond a second", () => {
    expect(setBack_ms(before, { wall_ms: 10_000, mono_ms: 3_000, boot: "b" })).toBe(42_000);
    expect(setBack_ms(before, { wall_ms: 51_000, mono_ms: 3_000, boot: "b" })).toBe(0);
  });

  it("that runs ahead of the steady one was not set back, nor one of another boot", () => {
    expect(setBack_ms(before, { wall_ms: 900_000, mono_ms: 3_000, boot: "b" })).toBe(0);
    expect(setBack_ms(before, { wall_ms: 10_000, mono_ms: 3_000, boot: "c" })).toBe(0);
  });
});

describe("a version 7 UUID", () => {
  // RFC 9562 appendix A.6.
  it("is the published one for the published time and random bits", () => {
    const random = Uint8Array.of(0x0c, 0xc3, 0x18, 0xc4, 0xdc, 0x0c, 0x0c, 0x07, 0x39, 0x8f);
    expect(uuid7(1_645_557_742_000, random)).toBe("017f22e2-79b0-7cc3-98c4-dc0c0c07398f");
  });

  it("holds version and variant whatever the random bits are, and the whole range of times", () => {
    const [zeros, ones] = [new Uint8Array(10), new Uint8Array(10).fill(0xff)];
    expect(uuid7(0, zeros)).toBe("00000000-0000-7000-8000-000000000000");
    expect(uuid7(2 ** 48 - 1, ones)).toBe("ffffffff-ffff-7fff-bfff-ffffffffffff");
  });

  it("sorts as text as the times do", () => {
    const ids = [5, 70_000, 1_764_000_000_123].map((ms) => uuid7(ms, new Uint8Array(10).fill(0xff)));
    expect(ids.toSorted()).toEqual(ids);
  });
});
