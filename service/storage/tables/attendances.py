"""Our arrivals at sites; a visit names its attendance."""

from sqlalchemy import CheckConstraint, ForeignKeyConstraint, Index, Table, UniqueConstraint

from service.storage.tables.columns import counter, identity, key, metadata, text

attendance = Table(
    "attendance",
    metadata,
    identity(),
    key("customer_id"),
    key("site_id"),
    text("uuid", required=True),
    text("crew", required=True),
    text("arrived_at", required=True),
    text("left_at"),
    text("access", required=True),
    text("note"),
    text("posted_at", required=True),
    text("posted_by", required=True),
    text("fingerprint", required=True),
    counter("version"),
    UniqueConstraint("uuid"),
    ForeignKeyConstraint(["customer_id"], ["customer.id"]),
    ForeignKeyConstraint(["site_id"], ["site.id"]),
    CheckConstraint("access IN ('done', 'no_access', 'cancelled_at_door')", name="access"),
    CheckConstraint("left_at >= arrived_at", name="leaves_after_arriving"),
    Index("ix_attendance_site_id", "site_id"),
    Index("ix_attendance_arrived_at", "arrived_at"),
)
