"""Calls, which calls a visit answers, when parts were promised, assignments, and technicians' leave and hours."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
KEY = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "call",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        *(sa.Column(name, KEY, nullable=True) for name in ("customer_id", "site_id", "unit_id")),
        sa.Column("uuid", TEXT, nullable=False),
        sa.Column("received_at", TEXT, nullable=False),
        sa.Column("by_name", TEXT, nullable=True),
        sa.Column("by_phone", TEXT, nullable=True),
        sa.Column("symptom", TEXT, nullable=False),
        sa.Column("words", TEXT, nullable=True),
        sa.Column("urgency", TEXT, nullable=False),
        sa.Column("promised_from", TEXT, nullable=True),
        sa.Column("promised_until", TEXT, nullable=True),
        sa.Column("technician_id", KEY, nullable=True),
        sa.Column("day", TEXT, nullable=True),
        sa.Column("state", TEXT, nullable=False),
        *(sa.Column(name, TEXT, nullable=True) for name in ("how", "closed_at", "why", "advice", "visit")),
        *(sa.Column(name, TEXT, nullable=False) for name in ("posted_at", "posted_by", "fingerprint")),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("state IN ('open', 'assigned', 'answered', 'cancelled')", name=op.f("ck_call_state")),
        sa.CheckConstraint("urgency IN ('now', 'today', 'this_week', 'can_wait')", name=op.f("ck_call_urgency")),
        sa.ForeignKeyConstraint(["customer_id"], ["customer.id"], name=op.f("fk_call_customer_id")),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_call_site_id")),
        sa.ForeignKeyConstraint(["unit_id"], ["unit.id"], name=op.f("fk_call_unit_id")),
        sa.ForeignKeyConstraint(["technician_id"], ["technician.id"], name=op.f("fk_call_technician_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_call")),
        sa.UniqueConstraint("uuid", name=op.f("uq_call_uuid")),
    )
    for columns in (["state", "received_at"], ["received_at"], ["site_id"], ["unit_id"]):
        op.create_index(f"ix_call_{'_'.join(columns)}", "call", columns)
    op.create_table(
        "visit_call",
        sa.Column("visit_id", KEY, nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("customer_id", KEY, nullable=False),
        sa.Column("unit_id", KEY, nullable=False),
        sa.Column("call", TEXT, nullable=False),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_visit_call_visit_id")),
        sa.PrimaryKeyConstraint("visit_id", "position", name=op.f("pk_visit_call")),
        sqlite_with_rowid=False,
    )
    with op.batch_alter_table("technician") as technician:
        technician.add_column(sa.Column("leave", TEXT, nullable=True))
        technician.add_column(sa.Column("hours_per_day", sa.Double(), nullable=True))
    _add_assignments()
    with op.batch_alter_table("visit") as visit:
        visit.add_column(sa.Column("parts_promised_on", TEXT, nullable=True))
    op.create_index("ix_root_cause_tier_state", "root_cause", ["tier", "state"])
    op.drop_index("ix_due_item_due_on_site_id_unit_id_task", "due_item")
    op.create_index("ix_due_item_due_on", "due_item", ["due_on", "site_id", "unit_id", "task", "interval"])
    op.create_index("ix_visit_call_call", "visit_call", ["call"])
    op.create_index("ix_visit_call_unit_id", "visit_call", ["unit_id"])


def _add_assignments() -> None:
    op.create_table(
        "assignment",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        *(sa.Column(name, KEY, nullable=False) for name in ("customer_id", "site_id")),
        sa.Column("unit_id", KEY, nullable=True),
        sa.Column("task", TEXT, nullable=True),
        sa.Column("technician_id", KEY, nullable=True),
        *(sa.Column(name, TEXT, nullable=True) for name in ("day", "postponed_to", "why", "note")),
        *(sa.Column(name, TEXT, nullable=False) for name in ("posted_at", "posted_by")),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["customer_id"], ["customer.id"], name=op.f("fk_assignment_customer_id")),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_assignment_site_id")),
        sa.ForeignKeyConstraint(["unit_id"], ["unit.id"], name=op.f("fk_assignment_unit_id")),
        sa.ForeignKeyConstraint(["technician_id"], ["technician.id"], name=op.f("fk_assignment_technician_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_assignment")),
    )
    for name in ("site_id", "day", "postponed_to"):
        op.create_index(f"ix_assignment_{name}", "assignment", [name])


def downgrade() -> None:
    op.drop_table("assignment")
    with op.batch_alter_table("technician") as technician:
        technician.drop_column("hours_per_day")
        technician.drop_column("leave")
    op.drop_index("ix_due_item_due_on", "due_item")
    op.create_index("ix_due_item_due_on_site_id_unit_id_task", "due_item", ["due_on", "site_id", "unit_id", "task"])
    op.drop_index("ix_root_cause_tier_state", "root_cause")
    with op.batch_alter_table("visit") as visit:
        visit.drop_column("parts_promised_on")
    op.drop_table("visit_call")
    op.drop_table("call")
