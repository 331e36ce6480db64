"""Throws every projection of a unit away and makes it again from the logs."""

from server.flows.authority import Authority
from server.flows.project import rebuild
from server.store.scope import writing


def rebuild_unit(authority: Authority, unit: str) -> int:
    """Returns the number of cases that were folded and judged again."""
    with writing(unit) as scope:
        return rebuild(scope, authority)
