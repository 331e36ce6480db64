"""The Wilson interval agrees with published values and with an independent implementation."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from server.core.wilson import wilson_95

# Newcombe 1998, Statistics in Medicine 17:857-872, Table I, method 3 (score, no continuity correction).
NEWCOMBE_TABLE_I = [
    (81, 263, "0.2553", "0.3662"),
    (15, 148, "0.0624", "0.1605"),
    (0, 20, "0.0000", "0.1611"),
    (1, 29, "0.0061", "0.1718"),
]

# Upper limits in per cent at no event: Wilson 1927, z^2 / (n + z^2), worked by hand for common list sizes.
UPPER_AT_ZERO_PERCENT = [(10, "27.8"), (20, "16.1"), (40, "8.8"), (60, "6.0"), (100, "3.7"), (300, "1.3")]

# 0 to 7 events in 41 cases, per cent, one decimal: recomputed with two statistics packages.
OF_41_PERCENT = [
    "0.0-8.6",
    "0.4-12.6",
    "1.3-16.1",
    "2.5-19.4",
    "3.9-22.5",
    "5.3-25.5",
    "6.9-28.4",
    "8.5-31.3",
]


def interval(events: int, chances: int) -> tuple[Decimal, Decimal]:
    found = wilson_95(events, chances)
    assert found is not None
    return found


@pytest.mark.parametrize(("events", "chances", "low", "high"), NEWCOMBE_TABLE_I)
def test_interval_equals_newcombe_table_i(events: int, chances: int, low: str, high: str) -> None:
    places = Decimal("0.0001")
    found = interval(events, chances)
    assert (found[0].quantize(places), found[1].quantize(places)) == (Decimal(low), Decimal(high))


@pytest.mark.parametrize(("chances", "percent"), UPPER_AT_ZERO_PERCENT)
def test_no_event_still_allows_an_upper_limit(chances: int, percent: str) -> None:
    low, high = interval(0, chances)
    assert low == 0
    assert (high * 100).quantize(Decimal("0.1")) == Decimal(percent)


@pytest.mark.parametrize("events", range(8))
def test_interval_of_41_cases(events: int) -> None:
    tenth = Decimal("0.1")
    low, high = (limit * 100 for limit in interval(events, 41))
    assert f"{low.quantize(tenth)}-{high.quantize(tenth)}" == OF_41_PERCENT[events]


def test_no_chances_give_no_interval() -> None:
    assert wilson_95(0, 0) is None


@pytest.mark.parametrize(("events", "chances"), [(-1, 3), (4, 3), (1, 0)])
def test_impossible_counts_are_refused(events: int, chances: int) -> None:
    with pytest.raises(ValueError, match="expected 0 <= events <= chances"):
        wilson_95(events, chances)


@given(st.integers(1, 3000).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_interval_agrees_with_scipy_and_holds_the_share(case: tuple[int, int]) -> None:
    events, chances = case
    low, high = interval(events, chances)
    other = binomtest(events, chances).proportion_ci(method="wilson")
    assert float(low) == pytest.approx(other.low, abs=1e-9)
    assert float(high) == pytest.approx(other.high, abs=1e-9)
    assert 0 <= low <= Decimal(events) / Decimal(chances) <= high <= 1
