"""The one tree of errors, split by what the reader can do about it.

HubheldError
├── RetryLater       nothing is wrong with what was sent: try again later, nothing was lost
├── InvalidInput     fix the input: says where, what was found and what was expected
├── OutOfStep        two sides disagree how far a log goes: send again from `n`
│   └── Fork         the two sides hold two histories of one log: both are kept, the device enrols afresh
├── NotAllowed       this caller may not do this: says what is needed
│   └── TooManyTries a secret was guessed wrongly too often: closed for `wait_s` seconds
└── TamperedRecord   a signature, a chain or a second history does not fit: stop, and keep everything
    ├── BrokenChain  an entry that is signed for its place, but stands behind another entry than the one before it
    └── RefusedEntry entry `seq` of a log does not fit; nothing that came with it was appended

Anything else that is raised is a bug in hubheld.
"""


class HubheldError(Exception):
    """Root of every error that hubheld raises on purpose."""


class RetryLater(HubheldError):
    """The server cannot do it now; the same request may be sent again."""


class InvalidInput(HubheldError):
    """The input cannot be used. `where` names the place, `found` and `expected` say what to mend."""

    def __init__(self, where: str, found: str, expected: str) -> None:
        super().__init__(f"{where}: found {found}, expected {expected}")
        self.where = where
        self.found = found
        self.expected = expected


class OutOfStep(HubheldError):
    """The sender's log and the copy held here do not meet; `n` entries are held here."""

    def __init__(self, detail: str, n: int) -> None:
        super().__init__(detail)
        self.n = n


class Fork(OutOfStep):
    """A second history under one device's key: both sides are kept, and the device enrols afresh."""


class NotAllowed(HubheldError):
    """The caller has not shown what is needed for this."""


class TooManyTries(NotAllowed):
    """Guessing is closed after too many wrong tries; it opens again after `wait_s` seconds."""

    def __init__(self, wait_s: int) -> None:
        super().__init__(f"too many wrong entries; try again in {wait_s} seconds")
        self.wait_s = wait_s


class TamperedRecord(HubheldError):
    """Bytes that cannot have come from the holder of the key, or a second history under one key."""


class BrokenChain(TamperedRecord):
    """An entry that its device signed for this very place, behind another entry than the one held there."""


class RefusedEntry(TamperedRecord):
    """An entry whose form, signature, place or texts do not fit; `seq` is its number in the log."""

    def __init__(self, seq: int, problem: HubheldError) -> None:
        detail = str(problem)
        super().__init__(detail if detail.startswith(f"entry {seq}") else f"entry {seq}: {detail}")
        self.seq = seq
