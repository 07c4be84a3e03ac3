"""The unit at which a visit was recorded before it was moved to the right one."""

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None

KEY = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
FK, INDEX = "fk_correction_from_unit_id", "ix_correction_from_unit_id"


def upgrade() -> None:
    with op.batch_alter_table("correction") as correction:
        correction.add_column(sa.Column("from_unit_id", KEY, nullable=True))
        correction.create_foreign_key(op.f(FK), "unit", ["from_unit_id"], ["id"])
        correction.create_index(INDEX, ["from_unit_id"])


def downgrade() -> None:
    with op.batch_alter_table("correction") as correction:
        correction.drop_index(INDEX)
        correction.drop_constraint(op.f(FK), type_="foreignkey")
        correction.drop_column("from_unit_id")
