/** Exact fractions of any size. */
import { expect, test } from "vitest";
import * as fc from "fast-check";

import { compare, fraction, plus, times } from "../../src/core/fraction.ts";

const whole = fc.bigInt({ min: -(2n ** 80n), max: 2n ** 80n });
const any = fc
  .tuple(
    whole,
    whole.filter((value) => value !== 0n),
  )
  .map(([numerator, denominator]) => fraction(numerator, denominator));

test("the sign of a fraction stands in its numerator", () => {
  expect(fraction(1n, -2n)).toEqual({ numerator: -1n, denominator: 2n });
  expect(fraction(-1n, -2n)).toEqual({ numerator: 1n, denominator: 2n });
});

test("a third is not 0.333…", () => {
  expect(compare(fraction(1n, 3n), fraction(333_333_333_333_333_333n, 1_000_000_000_000_000_000n))).toBe(1);
  expect(compare(times(fraction(1n, 3n), fraction(3n)), fraction(1n))).toBe(0);
});

test("sums and products agree with each other, and comparison with both", () => {
  fc.assert(
    fc.property(any, any, any, (a, b, c) => {
      expect(compare(times(a, plus(b, c)), plus(times(a, b), times(a, c)))).toBe(0);
      expect(compare(a, b)).toBe(-compare(b, a) + 0);
      expect(compare(plus(a, c), plus(b, c))).toBe(compare(a, b));
    }),
  );
});
