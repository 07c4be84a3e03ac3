"""Attendances, and which attendance a visit belongs to."""

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
KEY = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "attendance",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        *(sa.Column(name, KEY, nullable=False) for name in ("customer_id", "site_id")),
        *(sa.Column(name, TEXT, nullable=False) for name in ("uuid", "crew", "arrived_at")),
        sa.Column("left_at", TEXT),
        sa.Column("access", TEXT, nullable=False),
        sa.Column("note", TEXT),
        *(sa.Column(name, TEXT, nullable=False) for name in ("posted_at", "posted_by", "fingerprint")),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("access IN ('done', 'no_access', 'cancelled_at_door')", name=op.f("ck_attendance_access")),
        sa.CheckConstraint("left_at >= arrived_at", name=op.f("ck_attendance_leaves_after_arriving")),
        sa.ForeignKeyConstraint(["customer_id"], ["customer.id"], name=op.f("fk_attendance_customer_id")),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_attendance_site_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_attendance")),
        sa.UniqueConstraint("uuid", name=op.f("uq_attendance_uuid")),
    )
    op.create_index("ix_attendance_site_id", "attendance", ["site_id"])
    op.create_index("ix_attendance_arrived_at", "attendance", ["arrived_at"])
    op.add_column("visit", sa.Column("attendance", TEXT))
    op.add_column("visit", sa.Column("shared_by", sa.Integer()))
    op.create_index("ix_visit_attendance", "visit", ["attendance"])


def downgrade() -> None:
    op.drop_index("ix_visit_attendance", "visit")
    op.drop_column("visit", "shared_by")
    op.drop_column("visit", "attendance")
    op.drop_table("attendance")
