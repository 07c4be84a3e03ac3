"""Photos of visits; their bytes are files."""

from sqlalchemy import ForeignKeyConstraint, Index, Table, UniqueConstraint

from service.storage.tables.columns import counter, identity, key, metadata, text

photo = Table(
    "photo",
    metadata,
    identity(),
    text("uuid", required=True),
    key("customer_id"),
    key("visit_id"),
    text("sha256", required=True),
    text("sent_sha256", required=True),
    counter("size"),
    counter("width"),
    counter("height"),
    text("caption"),
    text("component"),
    text("moment"),
    text("posted_at", required=True),
    text("posted_by", required=True),
    text("void"),
    ForeignKeyConstraint(["customer_id"], ["customer.id"]),
    ForeignKeyConstraint(["visit_id"], ["visit.id"]),
    UniqueConstraint("uuid"),
    Index("ix_photo_visit_id", "visit_id"),
)
