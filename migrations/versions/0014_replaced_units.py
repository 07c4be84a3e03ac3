"""Which unit a unit replaces."""

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None

KEY = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
FK, UNIQUE = "fk_unit_replaces_id", "uq_unit_replaces_id"


def upgrade() -> None:
    with op.batch_alter_table("unit") as unit:
        unit.add_column(sa.Column("replaces_id", KEY, nullable=True))
        unit.create_foreign_key(op.f(FK), "unit", ["replaces_id"], ["id"])
        unit.create_unique_constraint(op.f(UNIQUE), ["replaces_id"])


def downgrade() -> None:
    with op.batch_alter_table("unit") as unit:
        unit.drop_constraint(op.f(UNIQUE), type_="unique")
        unit.drop_constraint(op.f(FK), type_="foreignkey")
        unit.drop_column("replaces_id")
