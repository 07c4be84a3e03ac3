"""What is taken into vans, put back and counted."""

import sqlalchemy as sa
from alembic import op

revision = "0023"
down_revision = "0022"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
KEY = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "van_movement",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("uuid", TEXT, nullable=False),
        sa.Column("technician_id", KEY, nullable=False),
        sa.Column("item", TEXT, nullable=False),
        sa.Column("action", TEXT, nullable=False),
        sa.Column("amount", TEXT, nullable=False),
        sa.Column("at", TEXT, nullable=False),
        sa.Column("by", TEXT, nullable=False),
        sa.ForeignKeyConstraint(["technician_id"], ["technician.id"], name=op.f("fk_van_movement_technician_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_van_movement")),
        sa.UniqueConstraint("uuid", name=op.f("uq_van_movement_uuid")),
    )
    op.create_index("ix_van_movement_technician_id", "van_movement", ["technician_id"])


def downgrade() -> None:
    op.drop_table("van_movement")
