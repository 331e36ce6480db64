"""Takes in what a device uploads: verified, appended, folded, judged and stored in one transaction.

The answer is a receipt signed by the server's key; nothing else tells a device that the server has its entries.
Sending twice, in pieces, or after a lost answer changes nothing.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from server.core.crypto import digest, sign_jws, verify_jws
from server.core.entry import (
    ENTRY,
    RECEIPT,
    Certificate,
    Entry,
    read_texts,
    verify,
    verify_certificate,
)
from server.core.errors import InvalidInput, OutOfStep, TamperedRecord
from server.core.strict_json import parse
from server.flows.authority import Authority
from server.flows.project import project, touched_cases
from server.store import log
from server.store.scope import UnitScope, reading, writing
from server.store.units import unit

Upload = Sequence[Mapping[str, Any]]


class Fork(OutOfStep):
    """A second history under one device's key: both sides are kept, and the device enrols afresh."""


def status(authority: Authority, certificate: str, now_ms: int) -> str:
    """The receipt for what the server holds of this device's log."""
    known = verify_certificate(certificate, authority.jwk)
    with reading(known.unit) as scope:
        return receipt(scope, authority, known, now_ms)


def take_in(authority: Authority, certificate: str, first: int, uploaded: Upload, now_ms: int) -> str:
    """Takes in entries `first`, `first` + 1, … of a device's log and returns the receipt.

    Raises OutOfStep where entries between are missing, Fork where other bytes are held at a place already,
    InvalidInput or TamperedRecord where an entry does not verify. In each of these cases nothing is appended.
    """
    known = verify_certificate(certificate, authority.jwk)
    try:
        with writing(known.unit) as scope:
            _take_back(scope, known)
            _append(scope, authority, known, first, uploaded, now_ms)
            # If we stop here, nothing of this upload is kept, and the device, without a receipt, sends it again.
            answer = receipt(scope, authority, known, now_ms)
    except Fork:
        # The transaction above is undone by now; the evidence goes into one of its own.
        _keep_evidence(authority, known, first, uploaded, now_ms)
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


def _take_back(scope: UnitScope, known: Certificate) -> None:
    """A server that lost its database takes a device back by the certificate it once signed."""
    row = log.device(scope, known.device)
    if row is None:
        log.add_device(scope, known, digest(known.jws))


def _append(
    scope: UnitScope, authority: Authority, known: Certificate, first: int, uploaded: Upload, now_ms: int
) -> None:
    row = log.device(scope, known.device)
    if row is None:
        raise LookupError(known.device)
    if first > row.entries_held:
        raise OutOfStep(f"entries from {first} were sent, but only {row.entries_held} are held", row.entries_held)
    _same_as_held(scope, known, first, uploaded, row.entries_held)
    new = uploaded[row.entries_held - first :]
    prev, entries, texts = row.head, [], {}
    for offset, item in enumerate(new):
        entry = verify(item["jws"], known.jwk, known.unit, known.device, row.entries_held + offset, prev)
        texts.update(read_texts(item["texts"], f"entry {entry.seq}"))
        entries.append(entry)
        prev = entry.digest
    log.append(scope, known.device, entries, texts, now_ms)
    project(scope, authority, touched_cases(scope, (entry.event for entry in entries)))


def _same_as_held(scope: UnitScope, known: Certificate, first: int, uploaded: Upload, held: int) -> None:
    """Entries that are held already must be the same bytes; else the log has been forked."""
    for seq, sha256 in log.digests(scope, known.device, first, len(uploaded)).items():
        if digest(uploaded[seq - first]["jws"]) != sha256:
            raise Fork(f"entry {seq} is held with other content: this log has two histories", held)


def _keep_evidence(authority: Authority, known: Certificate, first: int, uploaded: Upload, now_ms: int) -> None:
    """Keeps each differing entry that the device's own key really signed."""
    with writing(known.unit) as scope:
        held = log.digests(scope, known.device, first, len(uploaded))
        for seq, sha256 in held.items():
            item = uploaded[seq - first]
            if digest(item["jws"]) != sha256 and _is_signed(item["jws"], known):
                evidence = Entry(item["jws"], digest(item["jws"]), known.device, seq, {})
                log.add_fork(scope, evidence, sha256, item["texts"], now_ms)


def _is_signed(jws: str, known: Certificate) -> bool:
    try:
        verify_jws(jws, ENTRY, known.jwk)
    except (InvalidInput, TamperedRecord):
        return False
    return True
