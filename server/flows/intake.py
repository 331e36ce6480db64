"""Takes in what a device uploads: verified, appended, folded, judged and stored in one transaction.

The answer is a receipt signed by the server's key; nothing else tells a device that the server has its entries.
Sending twice, in pieces, or after a lost answer changes nothing.
"""

from typing import Any

from server.core.crypto import digest, sign_jws, verify_jws
from server.core.entry import RECEIPT, Certificate, verify_certificate
from server.core.errors import Fork
from server.core.strict_json import parse
from server.core.syncstate import Held, Upload, evidence, step
from server.flows.authority import Authority
from server.flows.project import project, touched_cases
from server.store import log
from server.store.scope import UnitScope, reading, writing
from server.store.units import unit


def status(authority: Authority, certificate: str, now_ms: int) -> str:
    """The receipt for what the server holds of this device's log."""
    known = verify_certificate(certificate, authority.jwk)
    with reading(known.unit) as scope:
        return receipt(scope, authority, known, now_ms)


def take_in(authority: Authority, upload: Upload, now_ms: int) -> str:
    """Takes in what is new in the upload and returns the receipt.

    Raises OutOfStep where entries between are missing, Fork where the device signed another history than the one
    held, RefusedEntry where an entry does not verify. In each of these cases nothing is appended.
    """
    known = verify_certificate(upload.certificate, authority.jwk)
    try:
        with writing(known.unit) as scope:
            _append(scope, authority, known, upload, now_ms)
            # If we stop here, nothing of this upload is kept, and the device, without a receipt, sends it again.
            answer = receipt(scope, authority, known, now_ms)
    except Fork:
        # The transaction above is undone by now; the evidence goes into one of its own.
        # If we stop before that, the device sends the same again, and the evidence is kept then.
        _keep_evidence(known, upload, now_ms)
        raise
    # If we stop here, everything is kept and the answer is lost: the same upload again gets the same receipt.
    return answer


def receipt(scope: UnitScope, authority: Authority, known: Certificate, now_ms: int) -> str:
    """What the server holds of a device's log, signed by its key."""
    row = log.device(scope, known.device)
    return sign_jws(
        authority.key,
        RECEIPT,
        {
            "v": 1,
            "unit": known.unit,
            "device": known.device,
            "n": 0 if row is None else row.entries_held,
            "head": digest(known.jws) if row is None else row.head,
            "epoch": unit(scope).epoch,
            "at_ms": now_ms,
        },
    )


def verified_request(authority: Authority, certificate: str, request: str, typ: str) -> tuple[Certificate, Any]:
    """A request that a device signed: who asks, and what was signed. Raises InvalidInput or TamperedRecord."""
    known = verify_certificate(certificate, authority.jwk)
    return known, parse(verify_jws(request, typ, known.jwk))


def _append(scope: UnitScope, authority: Authority, known: Certificate, upload: Upload, now_ms: int) -> None:
    held = _held(scope, known, upload)
    accepted = step(held, upload, known, authority.jwk)
    if log.device(scope, known.device) is None:
        # A server that lost its copy takes the device back by the certificate that it once signed itself.
        log.add_device(scope, known, digest(known.jws))
    log.append(scope, known.device, accepted.entries, accepted.texts, now_ms)
    project(scope, authority, touched_cases(scope, (entry.event for entry in accepted.entries)))


def _held(scope: UnitScope, known: Certificate, upload: Upload) -> Held:
    row = log.device(scope, known.device)
    if row is None or row.entries_held == 0:
        return Held(0, digest(known.jws), {})
    return Held(row.entries_held, row.head, log.digests(scope, known.device, upload.first, len(upload.entries)))


def _keep_evidence(known: Certificate, upload: Upload, now_ms: int) -> None:
    """Keeps each differing entry that the device's own key really signed."""
    with writing(known.unit) as scope:
        for entry, against, texts in evidence(_held(scope, known, upload), upload, known):
            log.add_fork(scope, entry, against, texts, now_ms)
