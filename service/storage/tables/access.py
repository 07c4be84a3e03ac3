"""First answers, who may ask, and who changed what."""

from sqlalchemy import (
    CheckConstraint,
    Column,
    ForeignKeyConstraint,
    Index,
    PrimaryKeyConstraint,
    Table,
    UniqueConstraint,
)

from service.storage.tables.columns import KEY, identity, key, metadata, text
from service.storage.tables.triggers import only_added_to

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
    key("technician_id", required=False),
    text("expires_at"),
    text("last_used_at"),
    PrimaryKeyConstraint("id"),
    ForeignKeyConstraint(["technician_id"], ["technician.id"]),
    CheckConstraint("role IN ('technician', 'dispatcher', 'owner', 'reader')", name="role"),
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
    text("token_id"),
    text("technician"),
    Index("ix_audit_resource_key", "resource", "key"),
)

# What settings, calls, decisions on root causes and ends were before: histories from which past days are answered. An
# import brings them with their own instants, and the audit trail holds when it did.
change = Table(
    "change",
    metadata,
    identity(),
    text("at", required=True),
    text("made_by", required=True),
    text("resource", required=True),
    text("key", required=True),
    text("before"),
    text("after", required=True),
    Index("ix_change_resource_key", "resource", "key"),
)

# The hash of each entry, in the order of the chain. On PostgreSQL that is the order of the commits, not of the ids.
audit_chain = Table(
    "audit_chain",
    metadata,
    Column("number", KEY, autoincrement=False, nullable=False),
    key("audit_id"),
    text("hash", required=True),
    PrimaryKeyConstraint("number"),
    UniqueConstraint("audit_id"),
    ForeignKeyConstraint(["audit_id"], ["audit.id"]),
)

for table in (audit, audit_chain):
    only_added_to(table)
