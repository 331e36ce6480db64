"""How an upload meets the copy of a log: step(held, upload) gives what to append, or why nothing is.

Pure: the copy is what `Held` says of it, and nothing is written here. The server's half of web/src/core/syncstate.ts.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from server.core.crypto import Jwk, digest, verify_jws
from server.core.entry import ENTRY, RECEIPT, Certificate, Entry, read_texts, verify
from server.core.errors import BrokenChain, Fork, InvalidInput, OutOfStep, RefusedEntry, TamperedRecord
from server.core.strict_json import parse

SealedTexts = Mapping[str, tuple[str, str]]


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
class Held:
    """The copy of one log: `n` entries, the last with the digest `head` (of the certificate where there is none).

    `digests` are those of the entries held at the places that the upload names.
    """

    n: int
    head: str
    digests: Mapping[int, str]


@dataclass(frozen=True, slots=True)
class Accepted:
    """What is new in an upload: entries that verify, in order behind those held, and the texts beside them."""

    entries: Sequence[Entry]
    texts: SealedTexts


def step(held: Held, upload: Upload, known: Certificate, server_jwk: Jwk) -> Accepted:
    """Verifies what is new in the upload against the copy.

    Raises OutOfStep where entries between are missing, Fork where the device signed another history than the one
    held, RefusedEntry where an entry does not verify. Then nothing is to be appended.
    """
    start = _start(held, upload, known, server_jwk)
    if upload.first > start.n:
        raise OutOfStep(f"entries from {upload.first} were sent, but only {start.n} are held", start.n)
    _same_as_held(start, upload, known)
    prev = start.head
    entries: list[Entry] = []
    texts: dict[str, tuple[str, str]] = {}
    for offset, item in enumerate(upload.entries[start.n - upload.first :]):
        entry, beside = _verified(known, item, start.n + offset, prev, is_first=offset == 0)
        texts.update(beside)
        entries.append(entry)
        prev = entry.digest
    return Accepted(entries, texts)


def evidence(held: Held, upload: Upload, known: Certificate) -> list[tuple[Entry, str, Sequence[Any]]]:
    """The other history, as far as the device really signed it: entry, digest that it stands against, texts."""
    found = []
    for seq, item in enumerate(upload.entries, upload.first):
        against = held.digests.get(seq, held.head)
        other = Entry(item["jws"], digest(item["jws"]), known.device, seq, {})
        if other.digest != against and _is_signed(item["jws"], known, seq):
            found.append((other, against, item["texts"]))
    return found


def _start(held: Held, upload: Upload, known: Certificate, server_jwk: Jwk) -> Held:
    """A server that lost its copy goes on from an old receipt, which it once signed itself."""
    if held.n > 0 or upload.receipt is None:
        return held
    said = parse(verify_jws(upload.receipt, RECEIPT, server_jwk))
    expected = {"unit": known.unit, "device": known.device, "n": upload.first}
    if not isinstance(said, dict) or any(said.get(name) != value for name, value in expected.items()):
        raise InvalidInput("receipt", "a receipt for other entries", f"this device's receipt for {upload.first}")
    return Held(upload.first, str(said["head"]), {})


def _same_as_held(held: Held, upload: Upload, known: Certificate) -> None:
    """Entries that are held already must be the same bytes; else the log has been forked, or this is none of it."""
    for seq, sha256 in sorted(held.digests.items()):
        jws = upload.entries[seq - upload.first]["jws"]
        if digest(jws) == sha256:
            continue
        if not _is_signed(jws, known, seq):
            raise RefusedEntry(seq, TamperedRecord("other bytes than those held, and not this device's for this place"))
        raise Fork(f"entry {seq} is held with other content: this log has two histories", held.n)


def _verified(
    known: Certificate, item: Mapping[str, Any], seq: int, prev: str, is_first: bool
) -> tuple[Entry, SealedTexts]:
    """The entry that is to stand at `seq`, with its texts. Raises RefusedEntry or Fork."""
    try:
        entry = verify(item["jws"], known.jwk, known.unit, known.device, seq, prev)
        return entry, read_texts(item["texts"], entry.event)
    except BrokenChain as problem:
        if is_first and seq > 0:
            raise Fork(f"{problem}: this log has two histories", seq) from None
        raise RefusedEntry(seq, problem) from None
    except (InvalidInput, TamperedRecord) as problem:
        raise RefusedEntry(seq, problem) from None


def _is_signed(jws: str, known: Certificate, seq: int) -> bool:
    """True where the device signed it for this very place: its own entries, sent again out of place, are no fork."""
    try:
        said = parse(verify_jws(jws, ENTRY, known.jwk))
    except (InvalidInput, TamperedRecord):
        return False
    place = {"unit": known.unit, "device": known.device, "seq": seq}
    return isinstance(said, dict) and all(said.get(name) == value for name, value in place.items())
