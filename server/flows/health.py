"""Which units there are; reading them says that the database can be read."""

from server.core.errors import InvalidInput
from server.store.scope import unit_names


def unit_count() -> int:
    """The number of units on this server."""
    return len(unit_names())


def sole_unit() -> str:
    """The name of the only unit. Raises InvalidInput where there are none or several."""
    names = unit_names()
    if len(names) != 1:
        raise InvalidInput("unit", f"{len(names)} units on this server", "the name of one: --unit U")
    return names[0]
