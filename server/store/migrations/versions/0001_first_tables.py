"""The first tables: units, people, lists, logs and the projections made from them."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


TABLES = (
    "unit",
    "device",
    "enrolment_code",
    "guess_limit",
    "office_session",
    "person",
    "projected_case",
    "sealed_text",
    "theatre_list",
    "unit_settings",
    "unit_values",
    "list_slot",
    "log_entry",
    "log_fork",
    "pin_key",
    "projected_deviation",
    "projected_hub_event",
    "projected_step",
)


def upgrade() -> None:
    """Makes the first tables, each behind those it points at."""
    _make_unit()
    _make_device()
    _make_enrolment_code()
    _make_guess_limit()
    _make_office_session()
    _make_person()
    _make_projected_case()
    _make_sealed_text()
    _make_theatre_list()
    _make_unit_settings()
    _make_unit_values()
    _make_list_slot()
    _make_log_entry()
    _make_log_fork()
    _make_pin_key()
    _make_projected_deviation()
    _make_projected_hub_event()
    _make_projected_step()


def downgrade() -> None:
    """Takes them away, those that point at others first."""
    for table in reversed(TABLES):
        op.drop_table(table)


def _make_unit() -> None:
    op.create_table(
        "unit",
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("time_zone", sa.Text(), nullable=False),
        sa.Column("epoch", sa.BigInteger(), nullable=False),
        sa.Column("passphrase_verifier", sa.Text(), nullable=True),
        sa.Column("added_at_ms", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("unit", name=op.f("pk_unit")),
    )


def _make_device() -> None:
    op.create_table(
        "device",
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("device", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("certificate", sa.Text(), nullable=False),
        sa.Column("enrolled_at_ms", sa.BigInteger(), nullable=False),
        sa.Column("entries_held", sa.BigInteger(), nullable=False),
        sa.Column("head", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["unit"], ["unit.unit"], name=op.f("fk_device_unit")),
        sa.PrimaryKeyConstraint("unit", "device", name=op.f("pk_device")),
    )


def _make_enrolment_code() -> None:
    op.create_table(
        "enrolment_code",
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("verifier", sa.Text(), nullable=False),
        sa.Column("tries_left", sa.BigInteger(), nullable=False),
        sa.Column("expires_at_ms", sa.BigInteger(), nullable=False),
        sa.Column("used_at_ms", sa.BigInteger(), nullable=True),
        sa.ForeignKeyConstraint(["unit"], ["unit.unit"], name=op.f("fk_enrolment_code_unit")),
        sa.PrimaryKeyConstraint("unit", "name", name=op.f("pk_enrolment_code")),
    )


def _make_guess_limit() -> None:
    op.create_table(
        "guess_limit",
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("secret", sa.Text(), nullable=False),
        sa.Column("failures", sa.BigInteger(), nullable=False),
        sa.Column("closed_until_ms", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["unit"], ["unit.unit"], name=op.f("fk_guess_limit_unit")),
        sa.PrimaryKeyConstraint("unit", "secret", name=op.f("pk_guess_limit")),
    )


def _make_office_session() -> None:
    op.create_table(
        "office_session",
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("token_sha256", sa.Text(), nullable=False),
        sa.Column("opened_at_ms", sa.BigInteger(), nullable=False),
        sa.Column("expires_at_ms", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["unit"], ["unit.unit"], name=op.f("fk_office_session_unit")),
        sa.PrimaryKeyConstraint("unit", "token_sha256", name=op.f("pk_office_session")),
    )


def _make_person() -> None:
    op.create_table(
        "person",
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("sealed_sha256", sa.Text(), nullable=False),
        sa.Column("pin_verifier", sa.Text(), nullable=True),
        sa.Column("added_at_ms", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["unit"], ["unit.unit"], name=op.f("fk_person_unit")),
        sa.PrimaryKeyConstraint("unit", "code", name=op.f("pk_person")),
    )


def _make_projected_case() -> None:
    op.create_table(
        "projected_case",
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("case", sa.Text(), nullable=False),
        sa.Column("list", sa.Text(), nullable=True),
        sa.Column("date", sa.Text(), nullable=True),
        sa.Column("reference", sa.Text(), nullable=True),
        sa.Column("week", sa.Text(), nullable=True),
        sa.Column("practice", sa.Boolean(), nullable=False),
        sa.Column("on_list", sa.Boolean(), nullable=False),
        sa.Column("opened_count", sa.BigInteger(), nullable=False),
        sa.Column("moved_to", sa.Text(), nullable=True),
        sa.Column("not_operated", sa.Text(), nullable=True),
        sa.Column("protocol", sa.Text(), nullable=True),
        sa.Column("unit_values_number", sa.BigInteger(), nullable=True),
        sa.Column("first_ms", sa.BigInteger(), nullable=True),
        sa.Column("patient_in_ms", sa.BigInteger(), nullable=True),
        sa.Column("patient_out_ms", sa.BigInteger(), nullable=True),
        sa.Column("judged", sa.Boolean(), nullable=False),
        sa.Column("judged_open", sa.Boolean(), nullable=False),
        sa.Column("signed", sa.Boolean(), nullable=False),
        sa.Column("sign_off", sa.JSON(), nullable=True),
        sa.Column("flags", sa.JSON(), nullable=False),
        sa.Column("unread", sa.BigInteger(), nullable=False),
        sa.Column("hub_not_asked", sa.BigInteger(), nullable=False),
        sa.Column("records", sa.BigInteger(), nullable=False),
        sa.Column("late_records", sa.BigInteger(), nullable=False),
        sa.Column("signed_after_patient_out", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["unit"], ["unit.unit"], name=op.f("fk_projected_case_unit")),
        sa.PrimaryKeyConstraint("unit", "case", name=op.f("pk_projected_case")),
    )
    with op.batch_alter_table("projected_case", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_projected_case_unit_list"), ["unit", "list"], unique=False)
        batch_op.create_index(batch_op.f("ix_projected_case_unit_week"), ["unit", "week"], unique=False)


def _make_sealed_text() -> None:
    op.create_table(
        "sealed_text",
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("salt", sa.Text(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["unit"], ["unit.unit"], name=op.f("fk_sealed_text_unit")),
        sa.PrimaryKeyConstraint("unit", "sha256", name=op.f("pk_sealed_text")),
    )


def _make_theatre_list() -> None:
    op.create_table(
        "theatre_list",
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("list", sa.Text(), nullable=False),
        sa.Column("date", sa.Text(), nullable=False),
        sa.Column("theatre", sa.Text(), nullable=False),
        sa.Column("imported_at_ms", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["unit"], ["unit.unit"], name=op.f("fk_theatre_list_unit")),
        sa.PrimaryKeyConstraint("unit", "list", name=op.f("pk_theatre_list")),
    )
    with op.batch_alter_table("theatre_list", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_theatre_list_unit_date"), ["unit", "date"], unique=False)


def _make_unit_settings() -> None:
    op.create_table(
        "unit_settings",
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("number", sa.BigInteger(), nullable=False),
        sa.Column("settings", sa.JSON(), nullable=False),
        sa.Column("published_at_ms", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["unit"], ["unit.unit"], name=op.f("fk_unit_settings_unit")),
        sa.PrimaryKeyConstraint("unit", "number", name=op.f("pk_unit_settings")),
    )


def _make_unit_values() -> None:
    op.create_table(
        "unit_values",
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("number", sa.BigInteger(), nullable=False),
        sa.Column("values", sa.JSON(), nullable=False),
        sa.Column("published_at_ms", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["unit"], ["unit.unit"], name=op.f("fk_unit_values_unit")),
        sa.PrimaryKeyConstraint("unit", "number", name=op.f("pk_unit_values")),
    )


def _make_list_slot() -> None:
    op.create_table(
        "list_slot",
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("list", sa.Text(), nullable=False),
        sa.Column("reference", sa.Text(), nullable=False),
        sa.Column("eye", sa.Text(), nullable=False),
        sa.Column("order", sa.BigInteger(), nullable=False),
        sa.Column("anaesthesia", sa.Text(), nullable=False),
        sa.Column("red_reflex", sa.Text(), nullable=False),
        sa.Column("lens_model", sa.Text(), nullable=False),
        sa.Column("lens_power_cdpt", sa.BigInteger(), nullable=False),
        sa.Column("lens_optic_um", sa.BigInteger(), nullable=False),
        sa.Column("lens_dry_state_hydrophilic", sa.Boolean(), nullable=False),
        sa.Column("drug", sa.Text(), nullable=False),
        sa.Column("withdrawn", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(
            ["unit", "list"], ["theatre_list.unit", "theatre_list.list"], name=op.f("fk_list_slot_unit_list")
        ),
        sa.PrimaryKeyConstraint("unit", "list", "reference", "eye", name=op.f("pk_list_slot")),
    )


def _make_log_entry() -> None:
    op.create_table(
        "log_entry",
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("device", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("jws", sa.Text(), nullable=False),
        sa.Column("subject", sa.Text(), nullable=True),
        sa.Column("moved_to", sa.Text(), nullable=True),
        sa.Column("received_at_ms", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["unit", "device"], ["device.unit", "device.device"], name=op.f("fk_log_entry_unit_device")
        ),
        sa.PrimaryKeyConstraint("unit", "device", "seq", name=op.f("pk_log_entry")),
    )
    with op.batch_alter_table("log_entry", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_log_entry_unit_moved_to"), ["unit", "moved_to"], unique=False)
        batch_op.create_index(batch_op.f("ix_log_entry_unit_subject"), ["unit", "subject"], unique=False)


def _make_log_fork() -> None:
    op.create_table(
        "log_fork",
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("device", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("held_digest", sa.Text(), nullable=False),
        sa.Column("jws", sa.Text(), nullable=False),
        sa.Column("texts", sa.JSON(), nullable=False),
        sa.Column("received_at_ms", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["unit", "device"], ["device.unit", "device.device"], name=op.f("fk_log_fork_unit_device")
        ),
        sa.PrimaryKeyConstraint("unit", "device", "seq", "digest", name=op.f("pk_log_fork")),
    )


def _make_pin_key() -> None:
    op.create_table(
        "pin_key",
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("device", sa.Text(), nullable=False),
        sa.Column("thumbprint", sa.Text(), nullable=False),
        sa.Column("person_sha256", sa.Text(), nullable=False),
        sa.Column("certificate", sa.Text(), nullable=False),
        sa.Column("made_at_ms", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["unit", "device"], ["device.unit", "device.device"], name=op.f("fk_pin_key_unit_device")
        ),
        sa.PrimaryKeyConstraint("unit", "device", "thumbprint", name=op.f("pk_pin_key")),
    )


def _make_projected_deviation() -> None:
    op.create_table(
        "projected_deviation",
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("case", sa.Text(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("step", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("grade", sa.Text(), nullable=False),
        sa.Column("caught", sa.Boolean(), nullable=False),
        sa.Column("detail", sa.Text(), nullable=False),
        sa.Column("answer", sa.JSON(), nullable=True),
        sa.ForeignKeyConstraint(
            ["unit", "case"],
            ["projected_case.unit", "projected_case.case"],
            name=op.f("fk_projected_deviation_unit_case"),
        ),
        sa.PrimaryKeyConstraint("unit", "case", "key", name=op.f("pk_projected_deviation")),
    )


def _make_projected_hub_event() -> None:
    op.create_table(
        "projected_hub_event",
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("case", sa.Text(), nullable=False),
        sa.Column("step", sa.Text(), nullable=False),
        sa.Column("grade", sa.Text(), nullable=False),
        sa.Column("injections", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["unit", "case"],
            ["projected_case.unit", "projected_case.case"],
            name=op.f("fk_projected_hub_event_unit_case"),
        ),
        sa.PrimaryKeyConstraint("unit", "case", "step", "grade", name=op.f("pk_projected_hub_event")),
    )


def _make_projected_step() -> None:
    op.create_table(
        "projected_step",
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("case", sa.Text(), nullable=False),
        sa.Column("step", sa.Text(), nullable=False),
        sa.Column("injections", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["unit", "case"], ["projected_case.unit", "projected_case.case"], name=op.f("fk_projected_step_unit_case")
        ),
        sa.PrimaryKeyConstraint("unit", "case", "step", name=op.f("pk_projected_step")),
    )
