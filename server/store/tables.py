"""All tables, as typed models: every primary key begins with the unit, so that a unit's rows live together.

Precious: log_entry, log_fork, sealed_text, device and the rows of people, lists, values and settings, which
the office log carries too. Disposable: the projected_* tables, made again from the logs by flows/project.py.
Instants end in `_ms` (milliseconds since 1970-01-01 UTC); digests are base64url SHA-256 without padding.
"""

from sqlalchemy import JSON, BigInteger, ForeignKeyConstraint, Index, MetaData, Text
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

# Named constraints from the first migration on: without a name SQLite cannot change one later.
NAMING_CONVENTION = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}

JsonObject = dict[str, object]
Words = list[str]


class UnitRow(DeclarativeBase):
    """The base of every table: its first column, and the first part of its key, is the unit."""

    metadata = MetaData(naming_convention=NAMING_CONVENTION)
    type_annotation_map = {  # noqa: RUF012  SQLAlchemy reads this from the class
        str: Text(),
        int: BigInteger(),
        JsonObject: JSON(),
        list[str]: JSON(),
        list[JsonObject]: JSON(),
    }

    unit: Mapped[str] = mapped_column(primary_key=True, sort_order=-1)


class Unit(UnitRow):
    """A theatre unit. `epoch` is when its records here began (ms): a later beginning has a greater one."""

    __tablename__ = "unit"
    name: Mapped[str]
    time_zone: Mapped[str]
    epoch: Mapped[int]
    passphrase_verifier: Mapped[str | None]
    added_at_ms: Mapped[int]


def _of_unit(*columns: str, table: str) -> ForeignKeyConstraint:
    names = ("unit", *columns)
    return ForeignKeyConstraint(names, [f"{table}.{name}" for name in names])


class Device(UnitRow):
    """A tablet's certificate and how far the copy of its log goes: a prefix of `entries_held` entries.

    `head` is the digest of the last entry's JWS, or of the certificate while there is none.
    The office log has a row too: its device is the thumbprint of the server's own key.
    """

    __tablename__ = "device"
    device: Mapped[str] = mapped_column(primary_key=True)
    name: Mapped[str]
    certificate: Mapped[str]
    enrolled_at_ms: Mapped[int]
    entries_held: Mapped[int]
    head: Mapped[str]
    __table_args__ = (_of_unit(table="unit"),)


class LogEntry(UnitRow):
    """One signed entry as received. Rows are added and read, never changed or deleted."""

    __tablename__ = "log_entry"
    device: Mapped[str] = mapped_column(primary_key=True)
    seq: Mapped[int] = mapped_column(primary_key=True)
    digest: Mapped[str]
    jws: Mapped[str]
    subject: Mapped[str | None]  # the case or the list that the event names
    moved_to: Mapped[str | None]  # the other case that a case_moved names
    received_at_ms: Mapped[int]
    __table_args__ = (
        _of_unit("device", table="device"),
        Index(None, "unit", "subject"),
        Index(None, "unit", "moved_to"),
    )


class LogFork(UnitRow):
    """A second history of one log: evidence, kept beside it.

    `held_digest` is what is held at the same place, or the last entry held where nothing is.
    """

    __tablename__ = "log_fork"
    device: Mapped[str] = mapped_column(primary_key=True)
    seq: Mapped[int] = mapped_column(primary_key=True)
    digest: Mapped[str] = mapped_column(primary_key=True)
    held_digest: Mapped[str]
    jws: Mapped[str]
    texts: Mapped[list[JsonObject]]
    received_at_ms: Mapped[int]
    __table_args__ = (_of_unit("device", table="device"),)


class SealedText(UnitRow):
    """Free text and staff codes, beside the entries that name them by digest; the only rows that may be erased."""

    __tablename__ = "sealed_text"
    sha256: Mapped[str] = mapped_column(primary_key=True)
    salt: Mapped[str]
    text: Mapped[str]
    __table_args__ = (_of_unit(table="unit"),)


class PinKey(UnitRow):
    """A surgeon's key on one tablet, certified by the server's key."""

    __tablename__ = "pin_key"
    device: Mapped[str] = mapped_column(primary_key=True)
    thumbprint: Mapped[str] = mapped_column(primary_key=True)
    person_sha256: Mapped[str]
    certificate: Mapped[str]
    made_at_ms: Mapped[int]
    __table_args__ = (_of_unit("device", table="device"),)


class Person(UnitRow):
    """A member of staff by code and role. `sealed_sha256` is how the code stands in signed payloads."""

    __tablename__ = "person"
    code: Mapped[str] = mapped_column(primary_key=True)
    role: Mapped[str]
    sealed_sha256: Mapped[str]
    pin_verifier: Mapped[str | None]
    added_at_ms: Mapped[int]
    __table_args__ = (_of_unit(table="unit"),)


class TheatreList(UnitRow):
    """One theatre's list of one day."""

    __tablename__ = "theatre_list"
    list: Mapped[str] = mapped_column(primary_key=True)
    date: Mapped[str]
    theatre: Mapped[str]
    imported_at_ms: Mapped[int]
    __table_args__ = (_of_unit(table="unit"), Index(None, "unit", "date"))


class ListSlot(UnitRow):
    """One planned operation. Reference and eye are unique in a list; `withdrawn` when a later import left it out."""

    __tablename__ = "list_slot"
    list: Mapped[str] = mapped_column(primary_key=True)
    reference: Mapped[str] = mapped_column(primary_key=True)
    eye: Mapped[str] = mapped_column(primary_key=True)
    order: Mapped[int]
    anaesthesia: Mapped[str]
    red_reflex: Mapped[str]
    lens_model: Mapped[str]
    lens_power_cdpt: Mapped[int]
    lens_optic_um: Mapped[int]
    lens_dry_state_hydrophilic: Mapped[bool]
    drug: Mapped[str]
    withdrawn: Mapped[bool]
    __table_args__ = (_of_unit("list", table="theatre_list"),)


class UnitValues(UnitRow):
    """The unit's own values of contract section 4, whole and numbered: these enter the judge."""

    __tablename__ = "unit_values"
    number: Mapped[int] = mapped_column(primary_key=True)
    values: Mapped[JsonObject]
    published_at_ms: Mapped[int]
    __table_args__ = (_of_unit(table="unit"),)


class UnitSettings(UnitRow):
    """The unit's other settings (trays, offered values), whole and numbered: these never enter the judge."""

    __tablename__ = "unit_settings"
    number: Mapped[int] = mapped_column(primary_key=True)
    settings: Mapped[JsonObject]
    published_at_ms: Mapped[int]
    __table_args__ = (_of_unit(table="unit"),)


class EnrolmentCode(UnitRow):
    """A one-time code for one new device. `name` is the code's first part, `verifier` covers the rest."""

    __tablename__ = "enrolment_code"
    name: Mapped[str] = mapped_column(primary_key=True)
    verifier: Mapped[str]
    tries_left: Mapped[int]
    expires_at_ms: Mapped[int]
    used_at_ms: Mapped[int | None]
    __table_args__ = (_of_unit(table="unit"),)


class OfficeSession(UnitRow):
    """An open office session; the cookie's token is kept as a digest only."""

    __tablename__ = "office_session"
    token_sha256: Mapped[str] = mapped_column(primary_key=True)
    opened_at_ms: Mapped[int]
    expires_at_ms: Mapped[int]
    __table_args__ = (_of_unit(table="unit"),)


class GuessLimit(UnitRow):
    """Wrong guesses of one secret (a PIN on one device, the office passphrase); survives a restart."""

    __tablename__ = "guess_limit"
    secret: Mapped[str] = mapped_column(primary_key=True)
    failures: Mapped[int]
    closed_until_ms: Mapped[int]
    __table_args__ = (_of_unit(table="unit"),)


class ProjectedCase(UnitRow):
    """A case as last folded and judged. `week` is None when no event says when the case was."""

    __tablename__ = "projected_case"
    case: Mapped[str] = mapped_column(primary_key=True)
    list: Mapped[str | None]
    date: Mapped[str | None]
    reference: Mapped[str | None]
    week: Mapped[str | None]
    practice: Mapped[bool]
    on_list: Mapped[bool]
    opened_count: Mapped[int]
    moved_to: Mapped[str | None]
    not_operated: Mapped[str | None]
    protocol: Mapped[str | None]
    unit_values_number: Mapped[int | None]
    first_ms: Mapped[int | None]
    patient_in_ms: Mapped[int | None]
    patient_out_ms: Mapped[int | None]
    judged: Mapped[bool]
    judged_open: Mapped[bool]
    signed: Mapped[bool]
    sign_off: Mapped[JsonObject | None]
    flags: Mapped[Words]
    unread: Mapped[int]
    hub_not_asked: Mapped[int]
    records: Mapped[int]
    late_records: Mapped[int]
    signed_after_patient_out: Mapped[bool]
    __table_args__ = (
        _of_unit(table="unit"),
        Index(None, "unit", "week"),
        Index(None, "unit", "list"),
    )


class ProjectedDeviation(UnitRow):
    """One deviation of a case; `answer` is the surgeon's word on it, when there is one for this grade."""

    __tablename__ = "projected_deviation"
    case: Mapped[str] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(primary_key=True)
    step: Mapped[str]
    kind: Mapped[str]
    grade: Mapped[str]
    caught: Mapped[bool]
    detail: Mapped[str]
    answer: Mapped[JsonObject | None]
    __table_args__ = (_of_unit("case", table="projected_case"),)


class ProjectedStep(UnitRow):
    """A step that was due or recorded in a case, with its injections: the chances of the weekly counts."""

    __tablename__ = "projected_step"
    case: Mapped[str] = mapped_column(primary_key=True)
    step: Mapped[str] = mapped_column(primary_key=True)
    injections: Mapped[int]
    __table_args__ = (_of_unit("case", table="projected_case"),)


class ProjectedHubEvent(UnitRow):
    """Injections of one step that earn one grade of hub_not_held, each by its own grade."""

    __tablename__ = "projected_hub_event"
    case: Mapped[str] = mapped_column(primary_key=True)
    step: Mapped[str] = mapped_column(primary_key=True)
    grade: Mapped[str] = mapped_column(primary_key=True)
    injections: Mapped[int]
    __table_args__ = (_of_unit("case", table="projected_case"),)
