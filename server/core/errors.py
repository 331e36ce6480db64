"""The one tree of errors, split by what the reader can do about it.

HubheldError
├── RetryLater       nothing is wrong with what was sent: try again later, nothing was lost
├── InvalidInput     fix the input: says where, what was found and what was expected
├── OutOfStep        two sides disagree how far a log goes: send again from `n`
├── NotAllowed       this caller may not do this: says what is needed
└── TamperedRecord   a signature, a chain or a second history does not fit: stop, and keep everything

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


class NotAllowed(HubheldError):
    """The caller has not shown what is needed for this."""


class TamperedRecord(HubheldError):
    """Bytes that cannot have come from the holder of the key, or a second history under one key."""
