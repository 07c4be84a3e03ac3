"""Signed-in browsers, and the links that sign one in; secrets are kept as hashes."""

from sqlalchemy import ForeignKeyConstraint, Index, PrimaryKeyConstraint, Table, UniqueConstraint

from service.storage.tables.columns import metadata, text

session = Table(
    "session",
    metadata,
    text("id", required=True),
    text("hash", required=True),
    text("token_id", required=True),
    text("started_at", required=True),
    text("last_used_at", required=True),
    text("device", required=True),
    text("ended_at"),
    PrimaryKeyConstraint("id"),
    UniqueConstraint("hash"),
    ForeignKeyConstraint(["token_id"], ["token.id"]),
    Index("ix_session_token_id", "token_id"),
    sqlite_with_rowid=False,
)

sign_in_link = Table(
    "sign_in_link",
    metadata,
    text("hash", required=True),
    text("token_id", required=True),
    text("expires_at", required=True),
    text("used_at"),
    PrimaryKeyConstraint("hash"),
    ForeignKeyConstraint(["token_id"], ["token.id"]),
    sqlite_with_rowid=False,
)
