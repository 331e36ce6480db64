"""Quantities as people read them (contract section 1): never .1, never a trailing zero on a whole dose.

Every function takes whole numbers in base units (or an exact fraction of them) and returns text.
"""

from collections.abc import Callable
from fractions import Fraction


def decimal(whole: int, places: int, places_min: int = 0) -> str:
    """A whole number divided by 10**places, exact, thousands parted by commas: 5250 with 3 places is "5.25"."""
    sign, digits = ("-" if whole < 0 else ""), str(abs(whole)).rjust(places + 1, "0")
    before, after = digits[: len(digits) - places], digits[len(digits) - places :]
    after = after.rstrip("0").ljust(places_min, "0")
    return f"{sign}{int(before):,}" + (f".{after}" if after else "")


def rounded(value: Fraction, places: int) -> str:
    """A fraction to at most `places` decimals, halves away from zero, "about" in front where it is not exact."""
    scaled = abs(value) * 10**places
    whole = (2 * scaled.numerator + scaled.denominator) // (2 * scaled.denominator)
    text = decimal(-whole if value < 0 else whole, places)
    return text if whole == scaled else f"about {text}"


def length(um: int) -> str:
    return f"{decimal(um, 3, 1)} mm"


def mass(ug: Fraction) -> str:
    return f"{rounded(ug / 1000, 4)} mg"


def power(cdpt: int) -> str:
    sign = "-" if cdpt < 0 else "+"
    return f"{sign}{decimal(abs(cdpt), 2, 2)} D"


def pressure(mmhg: int) -> str:
    return f"{decimal(mmhg, 0)} mmHg"


def flow(ul_min: int) -> str:
    return f"{decimal(ul_min, 3)} mL/min"


def span(ms: int) -> str:
    """Minutes and seconds; a part of a second that has begun counts, so that 60,001 ms is not shown as 1:00."""
    seconds = -(-ms // 1000)
    sign, seconds = ("-" if seconds < 0 else ""), abs(seconds)
    return f"{sign}{seconds // 60}:{seconds % 60:02d} min"


_SHOWN: dict[str, Callable[[int], str]] = {
    "um": length,
    "mmhg": pressure,
    "ul_min": flow,
    "cdpt": power,
    "s": lambda s: span(1000 * s),
}


def shown(field: str, whole: int) -> str:
    """The value of the field named `field`, by the unit that ends its name."""
    for ending, show in _SHOWN.items():
        if field.endswith("_" + ending):
            return show(whole)
    return decimal(whole, 0)
