"""Surgeons' keys on tablets, as certified."""

from server.store.scope import UnitScope
from server.store.tables import PinKey


def add(scope: UnitScope, device: str, thumbprint: str, person_sha256: str, certificate: str, made_at_ms: int) -> None:
    """Keeps the certificate of one surgeon's key on one tablet."""
    row = {"device": device, "thumbprint": thumbprint, "person_sha256": person_sha256, "certificate": certificate}
    scope.add(PinKey, [{**row, "made_at_ms": made_at_ms}])
