"""Surgeons' keys on tablets, as certified."""

from sqlalchemy import delete

from server.store.scope import UnitScope
from server.store.tables import PinKey


def put(scope: UnitScope, device: str, thumbprint: str, person_sha256: str, certificate: str, made_at_ms: int) -> None:
    """Keeps the certificate of one surgeon's key on one tablet, in the place of an earlier one for the same key."""
    scope.change(delete(PinKey).where((PinKey.device == device) & (PinKey.thumbprint == thumbprint)))
    row = {"device": device, "thumbprint": thumbprint, "person_sha256": person_sha256, "certificate": certificate}
    scope.add(PinKey, [{**row, "made_at_ms": made_at_ms}])
