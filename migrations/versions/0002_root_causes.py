"""Candidates for root causes with what was decided on them, each unit's failures in figures, and what the fleet taught."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
KEY = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "baseline",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("figures", TEXT, nullable=False),
        sa.Column("learned_at", TEXT, nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_baseline")),
    )
    op.create_table(
        "root_cause",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("customer_id", KEY, nullable=False),
        sa.Column("unit_id", KEY, nullable=False),
        sa.Column("kind", TEXT, nullable=False),
        sa.Column("tier", TEXT, nullable=False),
        sa.Column("state", TEXT, nullable=False),
        sa.Column("luck_probability", sa.Double(), nullable=False),
        sa.Column("document", TEXT, nullable=False),
        sa.Column("evidence_key", TEXT, nullable=False),
        sa.Column("first_seen", TEXT, nullable=False),
        sa.Column("updated_at", TEXT, nullable=False),
        sa.Column("decided_by", TEXT, nullable=True),
        sa.Column("decided_at", TEXT, nullable=True),
        sa.Column("why", TEXT, nullable=True),
        sa.Column("resolved_on", TEXT, nullable=True),
        sa.Column("after_remedy", TEXT, nullable=True),
        sa.Column("absent_since", TEXT, nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("tier IN ('watch', 'probable', 'confirmed')", name=op.f("ck_root_cause_tier")),
        sa.CheckConstraint("state IN ('open', 'confirmed', 'dismissed', 'resolved')", name=op.f("ck_root_cause_state")),
        sa.CheckConstraint("luck_probability BETWEEN 0 AND 1", name=op.f("ck_root_cause_luck_probability")),
        sa.ForeignKeyConstraint(["customer_id"], ["customer.id"], name=op.f("fk_root_cause_customer_id")),
        sa.ForeignKeyConstraint(["unit_id"], ["unit.id"], name=op.f("fk_root_cause_unit_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_root_cause")),
        sa.UniqueConstraint("unit_id", "kind", name=op.f("uq_root_cause_unit_id_kind")),
    )
    op.create_index("ix_root_cause_customer_id", "root_cause", ["customer_id"])
    op.create_table(
        "failure_statistics",
        sa.Column("unit_id", KEY, autoincrement=False, nullable=False),
        sa.Column("layout", TEXT, nullable=False),
        sa.Column("figures", TEXT, nullable=False),
        sa.ForeignKeyConstraint(["unit_id"], ["unit.id"], name=op.f("fk_failure_statistics_unit_id")),
        sa.PrimaryKeyConstraint("unit_id", name=op.f("pk_failure_statistics")),
    )


def downgrade() -> None:
    op.drop_table("failure_statistics")
    op.drop_index("ix_root_cause_customer_id", "root_cause")
    op.drop_table("root_cause")
    op.drop_table("baseline")
