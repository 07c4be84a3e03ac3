"""Signed-in browsers, and the one-time links that sign one in."""

import sqlalchemy as sa
from alembic import op

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    op.create_table(
        "session",
        sa.Column("id", TEXT, nullable=False),
        sa.Column("hash", TEXT, nullable=False),
        sa.Column("token_id", TEXT, nullable=False),
        sa.Column("started_at", TEXT, nullable=False),
        sa.Column("last_used_at", TEXT, nullable=False),
        sa.Column("device", TEXT, nullable=False),
        sa.Column("ended_at", TEXT, nullable=True),
        sa.ForeignKeyConstraint(["token_id"], ["token.id"], name=op.f("fk_session_token_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_session")),
        sa.UniqueConstraint("hash", name=op.f("uq_session_hash")),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_session_token_id", "session", ["token_id"])
    op.create_table(
        "sign_in_link",
        sa.Column("hash", TEXT, nullable=False),
        sa.Column("token_id", TEXT, nullable=False),
        sa.Column("expires_at", TEXT, nullable=False),
        sa.Column("used_at", TEXT, nullable=True),
        sa.ForeignKeyConstraint(["token_id"], ["token.id"], name=op.f("fk_sign_in_link_token_id")),
        sa.PrimaryKeyConstraint("hash", name=op.f("pk_sign_in_link")),
        sqlite_with_rowid=False,
    )


def downgrade() -> None:
    op.drop_table("sign_in_link")
    op.drop_table("session")
