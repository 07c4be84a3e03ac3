"""Root causes, what was learned from the fleet, and failures in figures."""

from sqlalchemy import (
    CheckConstraint,
    Column,
    Double,
    ForeignKeyConstraint,
    Index,
    Table,
    UniqueConstraint,
)

from service.storage.tables.columns import KEY, counter, identity, key, metadata, text

root_cause = Table(
    "root_cause",
    metadata,
    identity(),
    key("customer_id"),
    key("unit_id"),
    text("kind", required=True),
    text("tier", required=True),
    text("state", required=True),
    Column("probability_of_chance", Double, nullable=False),
    text("document", required=True),
    text("evidence_key", required=True),
    text("first_seen", required=True),
    text("updated_at", required=True),
    text("decided_by"),
    text("decided_at"),
    text("why"),
    text("resolved_on"),
    text("after_remedy"),
    text("absent_since"),
    counter("version"),
    UniqueConstraint("unit_id", "kind"),
    ForeignKeyConstraint(["customer_id"], ["customer.id"]),
    ForeignKeyConstraint(["unit_id"], ["unit.id"]),
    CheckConstraint("tier IN ('watch', 'probable', 'strong')", name="tier"),
    CheckConstraint("state IN ('open', 'confirmed', 'dismissed', 'resolved')", name="state"),
    CheckConstraint("probability_of_chance BETWEEN 0 AND 1", name="probability_of_chance"),
    Index("ix_root_cause_customer_id", "customer_id"),
    Index("ix_root_cause_tier_state", "tier", "state"),
    sqlite_autoincrement=True,  # no withdrawn one's number again, so that a decision meets the one that was read
)

baseline = Table(
    "baseline",
    metadata,
    identity(),
    text("figures", required=True),
    text("learned_at", required=True),
)

failure_statistics = Table(
    "failure_statistics",
    metadata,
    Column("unit_id", KEY, primary_key=True, autoincrement=False),
    text("layout", required=True),
    text("figures", required=True),
    counter("log_version"),
    ForeignKeyConstraint(["unit_id"], ["unit.id"]),
)
