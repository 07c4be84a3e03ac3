"""The company's time zone and what it takes for travel; skills that a call asks for."""

import sqlalchemy as sa
from alembic import op

revision = "0025"
down_revision = "0024"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
OF_COMPANY = ("road_factor", "travel_speed_kmh", "minutes_at_door")


def upgrade() -> None:
    op.add_column("call", sa.Column("skills", TEXT))
    op.add_column("company", sa.Column("time_zone", TEXT))
    for column in OF_COMPANY:
        op.add_column("company", sa.Column(column, sa.Double()))


def downgrade() -> None:
    with op.batch_alter_table("company") as altered:
        for column in ("time_zone", *OF_COMPANY):
            altered.drop_column(column)
    with op.batch_alter_table("call") as altered:
        altered.drop_column("skills")
