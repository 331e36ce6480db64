/** Exact fractions: doses are never rounded while they are compared. */

/** `denominator` is above zero. */
export interface Fraction {
  readonly numerator: bigint;
  readonly denominator: bigint;
}

/** numerator / denominator, the sign carried by the numerator. `denominator` is not zero. */
export function fraction(numerator: bigint, denominator: bigint = 1n): Fraction {
  return denominator < 0n ? { numerator: -numerator, denominator: -denominator } : { numerator, denominator };
}

export function times(a: Fraction, b: Fraction): Fraction {
  return { numerator: a.numerator * b.numerator, denominator: a.denominator * b.denominator };
}

export function plus(a: Fraction, b: Fraction): Fraction {
  const numerator = a.numerator * b.denominator + b.numerator * a.denominator;
  return { numerator, denominator: a.denominator * b.denominator };
}

/** Below zero where a < b, zero where they are equal, above zero where a > b. */
export function compare(a: Fraction, b: Fraction): number {
  const difference = a.numerator * b.denominator - b.numerator * a.denominator;
  if (difference === 0n) return 0;
  return difference < 0n ? -1 : 1;
}
