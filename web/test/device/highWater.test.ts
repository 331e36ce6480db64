/** The mark outside the database only grows, and never stands in the way. */
import { describe, expect, it } from "vitest";

import { browserHighWater } from "../../src/device/highWater.ts";

const DEVICE = "A".repeat(43);

function local(held = new Map<string, string>()) {
  return {
    getItem: (key: string) => held.get(key) ?? null,
    setItem: (key: string, value: string) => void held.set(key, value),
  };
}

describe("the high-water mark", () => {
  it("is none on a new tablet", () => {
    expect(browserHighWater(local()).read()).toBeNull();
  });

  it("only grows for one device, and begins anew for another", () => {
    const marks = browserHighWater(local());
    marks.raise({ device: DEVICE, stored: 5 });
    marks.raise({ device: DEVICE, stored: 3 });
    expect(marks.read()).toEqual({ device: DEVICE, stored: 5 });
    marks.replace({ device: "B".repeat(43), stored: 0 });
    expect(marks.read()).toEqual({ device: "B".repeat(43), stored: 0 });
  });

  it("is none where something else stands in its place", () => {
    expect(browserHighWater(local(new Map([["hubheld-stored", "many"]]))).read()).toBeNull();
  });

  it("leaves recording alone where it cannot be written or read", () => {
    const refuse = () => {
      throw new DOMException("no", "SecurityError");
    };
    const marks = browserHighWater({ getItem: refuse, setItem: refuse });
    expect(() => marks.raise({ device: DEVICE, stored: 1 })).not.toThrow();
    expect(marks.read()).toBeNull();
  });
});
