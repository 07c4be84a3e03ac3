"""Service summaries as they were handed out."""

from sqlalchemy import ForeignKeyConstraint, Index, Table, UniqueConstraint

from service.storage.tables.columns import counter, identity, key, metadata, text

issue = Table(
    "issue",
    metadata,
    identity(),
    text("uuid", required=True),
    key("customer_id"),
    counter("year"),
    text("issued_at", required=True),
    text("issued_by", required=True),
    text("as_of", required=True),
    text("form", required=True),
    text("digest", required=True),
    text("program_version", required=True),
    text("sha256", required=True),
    counter("size"),
    text("body", required=True),  # in base 64
    ForeignKeyConstraint(["customer_id"], ["customer.id"]),
    UniqueConstraint("uuid"),
    Index("ix_issue_customer_id", "customer_id", "year"),
)
