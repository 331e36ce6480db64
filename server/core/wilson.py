"""The 95 % Wilson score interval of a share, exact to the decimals that the weekly files print.

Source of the method: Wilson 1927; its values are checked in the tests against Newcombe 1998, Table I.
"""

from decimal import ROUND_HALF_EVEN, Context, Decimal

# The 0.975 quantile of the standard normal distribution.
Z_95 = Decimal("1.959963984540054")

# Decimals of its own precision and rounding, so that one week gives the same bytes on any machine.
ARITHMETIC = Context(prec=40, rounding=ROUND_HALF_EVEN)


def wilson_95(events: int, chances: int) -> tuple[Decimal, Decimal] | None:
    """Lower and upper limit of the share `events / chances`, each from 0 to 1.

    None without chances: nothing is known then, and nothing is not 0.
    Raises ValueError unless 0 <= events <= chances.
    """
    if not 0 <= events <= chances:
        raise ValueError(f"found {events} events of {chances} chances, expected 0 <= events <= chances")
    if chances == 0:
        return None
    k, n, a = Decimal(events), Decimal(chances), ARITHMETIC
    z_squared = a.multiply(Z_95, Z_95)
    spread = a.add(z_squared, a.divide(a.multiply(a.multiply(4, k), n - k), n))
    half = a.multiply(Z_95, a.sqrt(spread))
    centre = a.add(a.multiply(2, k), z_squared)
    width = a.multiply(2, a.add(n, z_squared))
    # The limits at the ends are 0 and 1 by algebra; rounding must not leave a crumb there.
    low = Decimal(0) if events == 0 else a.divide(a.subtract(centre, half), width)
    high = Decimal(1) if events == chances else a.divide(a.add(centre, half), width)
    return low, high
