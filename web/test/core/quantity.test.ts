/** Quantities as people read them (contract section 1). */
import { expect, test } from "vitest";

import { fraction } from "../../src/core/fraction.ts";
import { decimal, length, mass, power, rounded, shown, span } from "../../src/core/quantity.ts";

test.each([
  [5000n, "5.0 mm"],
  [5250n, "5.25 mm"],
  [100n, "0.1 mm"],
  [0n, "0.0 mm"],
  [-250n, "-0.25 mm"],
  [3001n, "3.001 mm"],
])("length of %i um is %s", (um, text) => {
  expect(length(um)).toBe(text);
});

test.each([
  [fraction(1000n), "1 mg"],
  [fraction(100n), "0.1 mg"],
  [fraction(40n), "0.04 mg"],
  [fraction(10_000n), "10 mg"],
  [fraction(2725n, 10n), "0.2725 mg"],
  [fraction(0n), "0 mg"],
  [fraction(1_234_567_000n), "1,234,567 mg"],
  [fraction(1000n, 3n), "about 0.3333 mg"],
  [fraction(-1000n), "-1 mg"],
])("mass of %o is %s: never .1, never 1.0", (ug, text) => {
  expect(mass(ug)).toBe(text);
});

test.each([
  [2150, "+21.50 D"],
  [-2150, "-21.50 D"],
  [0, "+0.00 D"],
  [5, "+0.05 D"],
])("power of %i hundredths is %s", (cdpt, text) => {
  expect(power(cdpt)).toBe(text);
});

test("halves are rounded away from zero and said to be about", () => {
  expect(rounded(fraction(5n, 1000n), 2)).toBe("about 0.01");
  expect(rounded(fraction(-5n, 1000n), 2)).toBe("about -0.01");
  expect(rounded(fraction(4n, 1000n), 2)).toBe("about 0");
});

test.each([
  [60_000n, "1:00 min"],
  [60_001n, "1:01 min"],
  [1_200_001n, "20:01 min"],
  [0n, "0:00 min"],
  [-1_000n, "-0:01 min"],
])("a span of %i ms is %s", (ms, text) => {
  expect(span(ms)).toBe(text);
});

test("a field is shown by the unit that ends its name", () => {
  expect(shown("width_um", 2200)).toBe("2.2 mm");
  expect(shown("vacuum_mmhg", 350)).toBe("350 mmHg");
  expect(shown("flow_ul_min", 35_500)).toBe("35.5 mL/min");
  expect(shown("contact_s", 90)).toBe("1:30 min");
  expect(shown("sutures", 2)).toBe("2");
});

test("numbers beyond 2^53 keep every digit", () => {
  expect(decimal(123_456_789_012_345_678_901n, 3, 1)).toBe("123,456,789,012,345,678.901");
});
