"""Who does which work when."""

from sqlalchemy import ForeignKeyConstraint, Index, Table

from service.storage.tables.columns import counter, identity, key, metadata, text

assignment = Table(
    "assignment",
    metadata,
    identity(),
    key("customer_id"),
    key("site_id"),
    key("unit_id", required=False),
    text("task"),
    key("technician_id", required=False),
    text("day"),
    text("postponed_to"),
    text("why"),
    text("note"),
    text("posted_at", required=True),
    text("posted_by", required=True),
    counter("version"),
    ForeignKeyConstraint(["customer_id"], ["customer.id"]),
    ForeignKeyConstraint(["site_id"], ["site.id"]),
    ForeignKeyConstraint(["unit_id"], ["unit.id"]),
    ForeignKeyConstraint(["technician_id"], ["technician.id"]),
    Index("ix_assignment_site_id", "site_id"),
    Index("ix_assignment_day", "day"),
    Index("ix_assignment_postponed_to", "postponed_to"),
    sqlite_autoincrement=True,  # no deleted one's number again, so that a repeated DELETE finds nothing
)
