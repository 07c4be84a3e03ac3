"""First answers, who may ask, and who changed what."""

from sqlalchemy import (
    CheckConstraint,
    Index,
    PrimaryKeyConstraint,
    Table,
)

from service.storage.tables.columns import identity, metadata, text

answer = Table(
    "answer",
    metadata,
    text("caller", required=True),
    text("key", required=True),
    text("fingerprint", required=True),
    text("visit", required=True),
    text("body", required=True),
    text("given_at", required=True),
    PrimaryKeyConstraint("caller", "key"),
    Index("ix_answer_given_at", "given_at"),
)

token = Table(
    "token",
    metadata,
    text("id", required=True),
    text("hash", required=True),
    text("name", required=True),
    text("role", required=True),
    text("units_shown", required=True),
    text("created_at", required=True),
    text("revoked_at"),
    PrimaryKeyConstraint("id"),
    CheckConstraint("role IN ('technician', 'dispatcher', 'owner')", name="role"),
    CheckConstraint("units_shown IN ('si', 'us')", name="units_shown"),
    sqlite_with_rowid=False,
)

audit = Table(
    "audit",
    metadata,
    identity(),
    text("at", required=True),
    text("actor", required=True),
    text("role", required=True),
    text("request_id"),
    text("action", required=True),
    text("resource", required=True),
    text("key", required=True),
    text("before"),
    text("after"),
    Index("ix_audit_resource_key", "resource", "key"),
)
