"""The fleet, visits and due items, tokens and the audit trail: the first whole book."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
KEY = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "answer",
        sa.Column("caller", TEXT, nullable=False),
        sa.Column("key", TEXT, nullable=False),
        sa.Column("fingerprint", TEXT, nullable=False),
        sa.Column("visit", TEXT, nullable=False),
        sa.Column("body", TEXT, nullable=False),
        sa.Column("given_at", TEXT, nullable=False),
        sa.PrimaryKeyConstraint("caller", "key", name=op.f("pk_answer")),
    )
    with op.batch_alter_table("answer", schema=None) as batch_op:
        batch_op.create_index("ix_answer_given_at", ["given_at"], unique=False)

    op.create_table(
        "audit",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("at", TEXT, nullable=False),
        sa.Column("actor", TEXT, nullable=False),
        sa.Column("role", TEXT, nullable=False),
        sa.Column("request_id", TEXT, nullable=True),
        sa.Column("action", TEXT, nullable=False),
        sa.Column("noun", TEXT, nullable=False),
        sa.Column("key", TEXT, nullable=False),
        sa.Column("before", TEXT, nullable=True),
        sa.Column("after", TEXT, nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_audit")),
    )
    with op.batch_alter_table("audit", schema=None) as batch_op:
        batch_op.create_index("ix_audit_noun_key", ["noun", "key"], unique=False)

    op.create_table(
        "customer",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("code", TEXT, nullable=False),
        sa.Column("name", TEXT, nullable=False),
        sa.Column("contact", TEXT, nullable=True),
        sa.Column("phone", TEXT, nullable=True),
        sa.Column("email", TEXT, nullable=True),
        sa.Column("units_shown", TEXT, nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("units_shown IN ('si', 'us')", name=op.f("ck_customer_units_shown")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_customer")),
        sa.UniqueConstraint("code", name=op.f("uq_customer_code")),
    )
    op.create_table(
        "task_setting",
        sa.Column("task", TEXT, nullable=False),
        sa.Column("changes", TEXT, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("task", name=op.f("pk_task_setting")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "technician",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("code", TEXT, nullable=False),
        sa.Column("name", TEXT, nullable=False),
        sa.Column("phone", TEXT, nullable=True),
        sa.Column("email", TEXT, nullable=True),
        sa.Column("left_on", TEXT, nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_technician")),
        sa.UniqueConstraint("code", name=op.f("uq_technician_code")),
    )
    op.create_table(
        "token",
        sa.Column("id", TEXT, nullable=False),
        sa.Column("hash", TEXT, nullable=False),
        sa.Column("name", TEXT, nullable=False),
        sa.Column("role", TEXT, nullable=False),
        sa.Column("units_shown", TEXT, nullable=False),
        sa.Column("created_at", TEXT, nullable=False),
        sa.Column("revoked_at", TEXT, nullable=True),
        sa.CheckConstraint("role IN ('technician', 'dispatcher', 'owner')", name=op.f("ck_token_role")),
        sa.CheckConstraint("units_shown IN ('si', 'us')", name=op.f("ck_token_units_shown")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_token")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "site",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("customer_id", KEY, nullable=False),
        sa.Column("code", TEXT, nullable=False),
        sa.Column("name", TEXT, nullable=False),
        sa.Column("address", TEXT, nullable=True),
        sa.Column("time_zone", TEXT, nullable=False),
        sa.Column("latitude", sa.Double(), nullable=True),
        sa.Column("longitude", sa.Double(), nullable=True),
        sa.Column("surroundings", TEXT, nullable=True),
        sa.Column("closed_weekdays", TEXT, nullable=False),
        sa.Column("access", TEXT, nullable=True),
        sa.Column("technician_id", KEY, nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "surroundings IN ('clean', 'dusty', 'greasy', 'outdoor')", name=op.f("ck_site_surroundings")
        ),
        sa.CheckConstraint("latitude BETWEEN -90 AND 90", name=op.f("ck_site_latitude")),
        sa.CheckConstraint("longitude BETWEEN -180 AND 180", name=op.f("ck_site_longitude")),
        sa.ForeignKeyConstraint(["customer_id"], ["customer.id"], name=op.f("fk_site_customer_id")),
        sa.ForeignKeyConstraint(["technician_id"], ["technician.id"], name=op.f("fk_site_technician_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_site")),
        sa.UniqueConstraint("code", name=op.f("uq_site_code")),
    )
    with op.batch_alter_table("site", schema=None) as batch_op:
        batch_op.create_index("ix_site_customer_id", ["customer_id"], unique=False)
        batch_op.create_index("ix_site_time_zone", ["time_zone"], unique=False)

    op.create_table(
        "day_done",
        sa.Column("job", TEXT, nullable=False),
        sa.Column("site_id", KEY, nullable=False),
        sa.Column("day", TEXT, nullable=False),
        sa.Column("done_at", TEXT, nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_day_done_site_id")),
        sa.PrimaryKeyConstraint("job", "site_id", "day", name=op.f("pk_day_done")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "unit",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("customer_id", KEY, nullable=False),
        sa.Column("site_id", KEY, nullable=False),
        sa.Column("tag", TEXT, nullable=False),
        sa.Column("maker", TEXT, nullable=True),
        sa.Column("model", TEXT, nullable=True),
        sa.Column("serial", TEXT, nullable=True),
        sa.Column("place", TEXT, nullable=True),
        sa.Column("installed_on", TEXT, nullable=True),
        sa.Column("installed_by", TEXT, nullable=True),
        sa.Column("retired_on", TEXT, nullable=True),
        sa.Column("registered_on", TEXT, nullable=False),
        sa.Column("supply", TEXT, nullable=True),
        sa.Column("refrigeration", TEXT, nullable=True),
        sa.Column("bath", TEXT, nullable=True),
        sa.Column("trunks", TEXT, nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["customer_id"], ["customer.id"], name=op.f("fk_unit_customer_id")),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_unit_site_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_unit")),
        sa.UniqueConstraint("tag", name=op.f("uq_unit_tag")),
    )
    with op.batch_alter_table("unit", schema=None) as batch_op:
        batch_op.create_index("ix_unit_customer_id", ["customer_id"], unique=False)
        batch_op.create_index("ix_unit_site_id", ["site_id"], unique=False)

    op.create_table(
        "component",
        sa.Column("unit_id", KEY, nullable=False),
        sa.Column("code", TEXT, nullable=False),
        sa.Column("customer_id", KEY, nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("kind", TEXT, nullable=False),
        sa.Column("details", TEXT, nullable=False),
        sa.Column("installed_on", TEXT, nullable=True),
        sa.Column("removed_on", TEXT, nullable=True),
        sa.ForeignKeyConstraint(["unit_id"], ["unit.id"], name=op.f("fk_component_unit_id")),
        sa.PrimaryKeyConstraint("unit_id", "code", name=op.f("pk_component")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "due_item",
        sa.Column("unit_id", KEY, nullable=False),
        sa.Column("task", TEXT, nullable=False),
        sa.Column("customer_id", KEY, nullable=False),
        sa.Column("site_id", KEY, nullable=False),
        sa.Column("due_on", TEXT, nullable=False),
        sa.Column("basis", TEXT, nullable=False),
        sa.Column("why", TEXT, nullable=False),
        sa.Column("interval", TEXT, nullable=True),
        sa.Column("last_done_on", TEXT, nullable=True),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_due_item_site_id")),
        sa.ForeignKeyConstraint(["unit_id"], ["unit.id"], name=op.f("fk_due_item_unit_id")),
        sa.PrimaryKeyConstraint("unit_id", "task", name=op.f("pk_due_item")),
        sqlite_with_rowid=False,
    )
    with op.batch_alter_table("due_item", schema=None) as batch_op:
        batch_op.create_index(
            "ix_due_item_due_on_site_id_unit_id_task", ["due_on", "site_id", "unit_id", "task"], unique=False
        )

    op.create_table(
        "unit_task_setting",
        sa.Column("unit_id", KEY, nullable=False),
        sa.Column("task", TEXT, nullable=False),
        sa.Column("customer_id", KEY, nullable=False),
        sa.Column("changes", TEXT, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["unit_id"], ["unit.id"], name=op.f("fk_unit_task_setting_unit_id")),
        sa.PrimaryKeyConstraint("unit_id", "task", name=op.f("pk_unit_task_setting")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "visit",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("customer_id", KEY, nullable=False),
        sa.Column("unit_id", KEY, nullable=False),
        sa.Column("uuid", TEXT, nullable=False),
        sa.Column("kind", TEXT, nullable=False),
        sa.Column("by_whom", TEXT, nullable=False),
        sa.Column("evidence", TEXT, nullable=False),
        sa.Column("firm", TEXT, nullable=True),
        sa.Column("technician_id", KEY, nullable=True),
        sa.Column("arrived_at", TEXT, nullable=False),
        sa.Column("left_at", TEXT, nullable=True),
        sa.Column("day", TEXT, nullable=False),
        sa.Column("symptom", TEXT, nullable=True),
        sa.Column("reported_at", TEXT, nullable=True),
        sa.Column("words", TEXT, nullable=True),
        sa.Column("work", TEXT, nullable=True),
        sa.Column("advice", TEXT, nullable=True),
        sa.Column("outcome", TEXT, nullable=True),
        sa.Column("posted_at", TEXT, nullable=False),
        sa.Column("posted_by", TEXT, nullable=False),
        sa.Column("void", TEXT, nullable=True),
        sa.Column("fingerprint", TEXT, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("by_whom IN ('us', 'others')", name=op.f("ck_visit_by_whom")),
        sa.CheckConstraint("evidence IN ('seen', 'reported')", name=op.f("ck_visit_evidence")),
        sa.CheckConstraint("left_at >= arrived_at", name=op.f("ck_visit_leaves_after_arriving")),
        sa.ForeignKeyConstraint(["customer_id"], ["customer.id"], name=op.f("fk_visit_customer_id")),
        sa.ForeignKeyConstraint(["technician_id"], ["technician.id"], name=op.f("fk_visit_technician_id")),
        sa.ForeignKeyConstraint(["unit_id"], ["unit.id"], name=op.f("fk_visit_unit_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_visit")),
        sa.UniqueConstraint("uuid", name=op.f("uq_visit_uuid")),
    )
    with op.batch_alter_table("visit", schema=None) as batch_op:
        batch_op.create_index("ix_visit_arrived_at", ["arrived_at"], unique=False)
        batch_op.create_index("ix_visit_unit_id_arrived_at", ["unit_id", "arrived_at"], unique=False)

    op.create_table(
        "correction",
        sa.Column("visit_id", KEY, nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("customer_id", KEY, nullable=False),
        sa.Column("made_at", TEXT, nullable=False),
        sa.Column("made_by", TEXT, nullable=False),
        sa.Column("why", TEXT, nullable=False),
        sa.Column("changes", TEXT, nullable=False),
        sa.Column("former", TEXT, nullable=False),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_correction_visit_id")),
        sa.PrimaryKeyConstraint("visit_id", "number", name=op.f("pk_correction")),
    )
    op.create_table(
        "observation",
        sa.Column("visit_id", KEY, nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("customer_id", KEY, nullable=False),
        sa.Column("unit_id", KEY, nullable=False),
        sa.Column("code", TEXT, nullable=False),
        sa.Column("component", TEXT, nullable=True),
        sa.Column("note", TEXT, nullable=True),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_observation_visit_id")),
        sa.PrimaryKeyConstraint("visit_id", "position", name=op.f("pk_observation")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "reading",
        sa.Column("visit_id", KEY, nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("customer_id", KEY, nullable=False),
        sa.Column("unit_id", KEY, nullable=False),
        sa.Column("quantity", TEXT, nullable=False),
        sa.Column("component", TEXT, nullable=True),
        sa.Column("tap", TEXT, nullable=True),
        sa.Column("value", sa.Double(), nullable=False),
        sa.Column("dimension", TEXT, nullable=False),
        sa.Column("entered", TEXT, nullable=False),
        sa.Column("sample_temperature", sa.Double(), nullable=True),
        sa.Column("sample_temperature_entered", TEXT, nullable=True),
        sa.Column("at", TEXT, nullable=True),
        sa.Column("moment", TEXT, nullable=False),
        sa.Column("evidence", TEXT, nullable=False),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_reading_visit_id")),
        sa.PrimaryKeyConstraint("visit_id", "position", name=op.f("pk_reading")),
        sqlite_with_rowid=False,
    )
    with op.batch_alter_table("reading", schema=None) as batch_op:
        batch_op.create_index("ix_reading_unit_id_quantity", ["unit_id", "quantity"], unique=False)

    op.create_table(
        "replacement",
        sa.Column("visit_id", KEY, nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("customer_id", KEY, nullable=False),
        sa.Column("unit_id", KEY, nullable=False),
        sa.Column("component", TEXT, nullable=False),
        sa.Column("reason", TEXT, nullable=False),
        sa.Column("condition", TEXT, nullable=False),
        sa.Column("evidence", TEXT, nullable=False),
        sa.Column("day", TEXT, nullable=False),
        sa.Column("told_on", TEXT, nullable=True),
        sa.Column("by_whom", TEXT, nullable=False),
        sa.Column("note", TEXT, nullable=True),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_replacement_visit_id")),
        sa.PrimaryKeyConstraint("visit_id", "position", name=op.f("pk_replacement")),
        sqlite_with_rowid=False,
    )
    with op.batch_alter_table("replacement", schema=None) as batch_op:
        batch_op.create_index("ix_replacement_unit_id_component", ["unit_id", "component"], unique=False)

    op.create_table(
        "task_result",
        sa.Column("visit_id", KEY, nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("customer_id", KEY, nullable=False),
        sa.Column("unit_id", KEY, nullable=False),
        sa.Column("task", TEXT, nullable=False),
        sa.Column("result", TEXT, nullable=False),
        sa.Column("reason", TEXT, nullable=True),
        sa.Column("as_found", TEXT, nullable=True),
        sa.Column("day", TEXT, nullable=False),
        sa.Column("void", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_task_result_visit_id")),
        sa.PrimaryKeyConstraint("visit_id", "position", name=op.f("pk_task_result")),
        sqlite_with_rowid=False,
    )
    with op.batch_alter_table("task_result", schema=None) as batch_op:
        batch_op.create_index(
            "ix_task_result_unit_id_task",
            ["unit_id", "task", "day", "result", "as_found", "void", "reason"],
            unique=False,
        )


def downgrade() -> None:
    with op.batch_alter_table("task_result", schema=None) as batch_op:
        batch_op.drop_index("ix_task_result_unit_id_task")

    op.drop_table("task_result")
    with op.batch_alter_table("replacement", schema=None) as batch_op:
        batch_op.drop_index("ix_replacement_unit_id_component")

    op.drop_table("replacement")
    with op.batch_alter_table("reading", schema=None) as batch_op:
        batch_op.drop_index("ix_reading_unit_id_quantity")

    op.drop_table("reading")
    op.drop_table("observation")
    op.drop_table("correction")
    with op.batch_alter_table("visit", schema=None) as batch_op:
        batch_op.drop_index("ix_visit_unit_id_arrived_at")
        batch_op.drop_index("ix_visit_arrived_at")

    op.drop_table("visit")
    op.drop_table("unit_task_setting")
    with op.batch_alter_table("due_item", schema=None) as batch_op:
        batch_op.drop_index("ix_due_item_due_on_site_id_unit_id_task")

    op.drop_table("due_item")
    op.drop_table("component")
    with op.batch_alter_table("unit", schema=None) as batch_op:
        batch_op.drop_index("ix_unit_site_id")
        batch_op.drop_index("ix_unit_customer_id")

    op.drop_table("unit")
    op.drop_table("day_done")
    with op.batch_alter_table("site", schema=None) as batch_op:
        batch_op.drop_index("ix_site_time_zone")
        batch_op.drop_index("ix_site_customer_id")

    op.drop_table("site")
    op.drop_table("token")
    op.drop_table("technician")
    op.drop_table("task_setting")
    op.drop_table("customer")
    with op.batch_alter_table("audit", schema=None) as batch_op:
        batch_op.drop_index("ix_audit_noun_key")

    op.drop_table("audit")
    with op.batch_alter_table("answer", schema=None) as batch_op:
        batch_op.drop_index("ix_answer_given_at")

    op.drop_table("answer")
