"""Takes in what a device uploads: verified, appended, folded, judged and stored in one transaction.

The answer is a receipt signed by the server's key; nothing else tells a device that the server has its entries.
Sending twice, in pieces, or after a lost answer changes nothing.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from server.core.crypto import digest, sign_jws, verify_jws
from server.core.entry import ENTRY, RECEIPT, Certificate, Entry, read_texts, verify, verify_certificate
from server.core.errors import BrokenChain, Fork, InvalidInput, OutOfStep, RefusedEntry, TamperedRecord
from server.core.strict_json import parse
from server.flows.authority import Authority
from server.flows.project import project, touched_cases
from server.store import log
from server.store.scope import UnitScope, reading, writing
from server.store.units import unit


@dataclass(frozen=True, slots=True)
class Upload:
    """Entries `first`, `first` + 1, … of a device's log, each a `jws` with the `texts` beside it.

    `receipt`: an old one for the `first` entries, for a server that lost them and a device that holds them no more.
    """

    certificate: str
    first: int
    entries: Sequence[Mapping[str, Any]]
    receipt: str | None = None


@dataclass(frozen=True, slots=True)
class _Held:
    """How far the copy of a log goes: `n` entries, the last of them with the digest `head`."""

    n: int
    head: str


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
    held = _held(scope, authority, known, upload)
    if upload.first > held.n:
        raise OutOfStep(f"entries from {upload.first} were sent, but only {held.n} are held", held.n)
    _same_as_held(scope, known, upload, held)
    prev = held.head
    entries: list[Entry] = []
    texts: dict[str, tuple[str, str]] = {}
    for offset, item in enumerate(upload.entries[held.n - upload.first :]):
        entry, beside = _verified(known, item, _Held(held.n + offset, prev), is_first=offset == 0)
        texts.update(beside)
        entries.append(entry)
        prev = entry.digest
    log.append(scope, known.device, entries, texts, now_ms)
    project(scope, authority, touched_cases(scope, (entry.event for entry in entries)))


def _held(scope: UnitScope, authority: Authority, known: Certificate, upload: Upload) -> _Held:
    """How far the copy goes. A server that lost it takes the device back by what it once signed itself."""
    row = log.device(scope, known.device)
    if row is None:
        log.add_device(scope, known, digest(known.jws))
    if row is not None and row.entries_held > 0:
        return _Held(row.entries_held, row.head)
    if upload.receipt is None:
        return _Held(0, digest(known.jws))
    said = parse(verify_jws(upload.receipt, RECEIPT, authority.jwk))
    expected = {"unit": known.unit, "device": known.device, "n": upload.first}
    if not isinstance(said, dict) or any(said.get(name) != value for name, value in expected.items()):
        raise InvalidInput("receipt", "a receipt for other entries", f"this device's receipt for {upload.first}")
    return _Held(upload.first, str(said["head"]))


def _same_as_held(scope: UnitScope, known: Certificate, upload: Upload, held: _Held) -> None:
    """Entries that are held already must be the same bytes; else the log has been forked, or this is none of it."""
    for seq, sha256 in sorted(log.digests(scope, known.device, upload.first, len(upload.entries)).items()):
        jws = upload.entries[seq - upload.first]["jws"]
        if digest(jws) == sha256:
            continue
        if not _is_signed(jws, known):
            raise RefusedEntry(seq, TamperedRecord("other bytes than those held, and not signed by this device"))
        raise Fork(f"entry {seq} is held with other content: this log has two histories", held.n)


def _verified(
    known: Certificate, item: Mapping[str, Any], held: _Held, is_first: bool
) -> tuple[Entry, log.SealedTexts]:
    """The entry that is to stand behind those held, with its texts. Raises RefusedEntry or Fork."""
    try:
        entry = verify(item["jws"], known.jwk, known.unit, known.device, held.n, held.head)
        return entry, read_texts(item["texts"], entry.event)
    except BrokenChain as problem:
        if is_first and held.n > 0:
            raise Fork(f"{problem}: this log has two histories", held.n) from None
        raise RefusedEntry(held.n, problem) from None
    except (InvalidInput, TamperedRecord) as problem:
        raise RefusedEntry(held.n, problem) from None


def _keep_evidence(known: Certificate, upload: Upload, now_ms: int) -> None:
    """Keeps each differing entry that the device's own key really signed: the other history, as far as it came."""
    with writing(known.unit) as scope:
        row = log.device(scope, known.device)
        held = log.digests(scope, known.device, upload.first, len(upload.entries))
        for seq, item in enumerate(upload.entries, upload.first):
            against = held.get(seq, "" if row is None else row.head)
            evidence = Entry(item["jws"], digest(item["jws"]), known.device, seq, {})
            if evidence.digest != against and _is_signed(item["jws"], known):
                log.add_fork(scope, evidence, against, item["texts"], now_ms)


def _is_signed(jws: str, known: Certificate) -> bool:
    try:
        verify_jws(jws, ENTRY, known.jwk)
    except (InvalidInput, TamperedRecord):
        return False
    return True
