"""The history of settings, calls and decisions in a table of its own, so that an import can bring it."""

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
KEY = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
FROM_THE_TRAIL = """
INSERT INTO change (at, made_by, resource, key, before, after)
SELECT at, actor, resource, key, before, after FROM audit
WHERE action IN ('created', 'changed') AND resource IN ('task', 'unit_task', 'call', 'root_cause') AND after IS NOT NULL
ORDER BY id
"""


def upgrade() -> None:
    op.create_table(
        "change",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("at", TEXT, nullable=False),
        sa.Column("made_by", TEXT, nullable=False),
        sa.Column("resource", TEXT, nullable=False),
        sa.Column("key", TEXT, nullable=False),
        sa.Column("before", TEXT),
        sa.Column("after", TEXT, nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_change")),
    )
    op.create_index("ix_change_resource_key", "change", ["resource", "key"])
    op.execute(FROM_THE_TRAIL)


def downgrade() -> None:
    op.drop_table("change")
