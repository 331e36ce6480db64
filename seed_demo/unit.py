"""The invented unit of the demo: its name, its staff codes with their PINs, and the lenses on its shelf.

Nobody and nothing here is real. PINs are printed at start, since the demo guards nothing.
"""

from dataclasses import dataclass

UNIT = "saltmarsh-invented"
UNIT_NAME = "Saltmarsh Eye Theatre (invented)"
TIME_ZONE = "Europe/London"
THEATRE = "theatre-1"
PASSPHRASE = "lantern-gravel-otter"  # noqa: S105  printed at start: the demo guards nothing
TABLET = "Demo tablet (invented)"


@dataclass(frozen=True, slots=True)
class Staff:
    """One invented member of staff. Only surgeons sign, so only they have a PIN."""

    code: str
    role: str
    pin: str | None = None


STAFF = (
    Staff("N21", "recorder"),
    Staff("N34", "recorder"),
    Staff("S07", "surgeon", "402917"),
    Staff("S11", "surgeon", "583064"),
    Staff("G02", "governance_lead"),
    Staff("A01", "administrator"),
)
LENS_MODELS = ("AURA-1", "AURA-3P", "BREVA-T")
