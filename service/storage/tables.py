"""The tables. Days and instants are fixed-width text that sorts, documents are JSON text, numbers are SI.

So nothing is converted between Python and either engine, and a statement runs as plain SQL. Every table that belongs to
a customer carries `customer_id`, so that the book can be distributed by customer.
"""

from sqlalchemy import (
    CheckConstraint,
    Column,
    Double,
    ForeignKeyConstraint,
    Index,
    PrimaryKeyConstraint,
    Table,
    UniqueConstraint,
)

from service.storage.columns import KEY, counter, identity, key, metadata, number, text

customer = Table(
    "customer",
    metadata,
    identity(),
    text("code", required=True),
    text("name", required=True),
    text("contact"),
    text("phone"),
    text("email"),
    text("units_shown"),
    counter("version"),
    UniqueConstraint("code"),
    CheckConstraint("units_shown IN ('si', 'us')", name="units_shown"),
)

technician = Table(
    "technician",
    metadata,
    identity(),
    text("code", required=True),
    text("name", required=True),
    text("phone"),
    text("email"),
    text("left_on"),
    counter("version"),
    UniqueConstraint("code"),
)

site = Table(
    "site",
    metadata,
    identity(),
    key("customer_id"),
    text("code", required=True),
    text("name", required=True),
    text("address"),
    text("time_zone", required=True),
    number("latitude"),
    number("longitude"),
    text("surroundings"),
    text("closed_weekdays", required=True),
    text("access"),
    key("technician_id", required=False),
    counter("version"),
    UniqueConstraint("code"),
    ForeignKeyConstraint(["customer_id"], ["customer.id"]),
    ForeignKeyConstraint(["technician_id"], ["technician.id"]),
    CheckConstraint("latitude BETWEEN -90 AND 90", name="latitude"),
    CheckConstraint("longitude BETWEEN -180 AND 180", name="longitude"),
    CheckConstraint("surroundings IN ('clean', 'dusty', 'greasy', 'outdoor')", name="surroundings"),
    Index("ix_site_customer_id", "customer_id"),
    Index("ix_site_time_zone", "time_zone"),
)

unit = Table(
    "unit",
    metadata,
    identity(),
    key("customer_id"),
    key("site_id"),
    text("tag", required=True),
    text("maker"),
    text("model"),
    text("serial"),
    text("place"),
    text("installed_on"),
    text("installed_by"),
    text("retired_on"),
    text("registered_on", required=True),
    text("supply"),
    text("refrigeration"),
    text("bath"),
    text("trunks"),
    counter("version"),
    UniqueConstraint("tag"),
    ForeignKeyConstraint(["customer_id"], ["customer.id"]),
    ForeignKeyConstraint(["site_id"], ["site.id"]),
    Index("ix_unit_site_id", "site_id"),
    Index("ix_unit_customer_id", "customer_id"),
)

component = Table(
    "component",
    metadata,
    key("unit_id"),
    text("code", required=True),
    key("customer_id"),
    counter("position"),
    text("kind", required=True),
    text("details", required=True),
    text("installed_on"),
    text("removed_on"),
    PrimaryKeyConstraint("unit_id", "code"),
    ForeignKeyConstraint(["unit_id"], ["unit.id"]),
    sqlite_with_rowid=False,
)

visit = Table(
    "visit",
    metadata,
    identity(),
    key("customer_id"),
    key("unit_id"),
    text("uuid", required=True),
    text("kind", required=True),
    text("by_whom", required=True),
    text("evidence", required=True),
    text("firm"),
    key("technician_id", required=False),
    text("arrived_at", required=True),
    text("left_at"),
    text("day", required=True),
    text("symptom"),
    text("reported_at"),
    text("words"),
    text("work"),
    text("advice"),
    text("outcome"),
    text("posted_at", required=True),
    text("posted_by", required=True),
    text("void"),
    text("fingerprint", required=True),
    counter("version"),
    UniqueConstraint("uuid"),
    ForeignKeyConstraint(["customer_id"], ["customer.id"]),
    ForeignKeyConstraint(["unit_id"], ["unit.id"]),
    ForeignKeyConstraint(["technician_id"], ["technician.id"]),
    CheckConstraint("by_whom IN ('us', 'others')", name="by_whom"),
    CheckConstraint("evidence IN ('seen', 'reported')", name="evidence"),
    CheckConstraint("left_at >= arrived_at", name="leaves_after_arriving"),
    Index("ix_visit_unit_id_arrived_at", "unit_id", "arrived_at"),
    Index("ix_visit_arrived_at", "arrived_at"),
)


def part_of_visit(
    name: str, *columns: Column[str] | Column[int] | Column[float], indexed: tuple[str, ...] = ()
) -> Table:
    """A table of a visit's parts, kept beside each other in the order in which they were told.

    The index goes by unit and by the first column named; the further ones let it answer alone.
    """
    extras = [Index(f"ix_{name}_unit_id_{indexed[0]}", "unit_id", *indexed)] if indexed else []
    return Table(
        name,
        metadata,
        key("visit_id"),
        counter("position"),
        key("customer_id"),
        key("unit_id"),
        *columns,
        PrimaryKeyConstraint("visit_id", "position"),
        ForeignKeyConstraint(["visit_id"], ["visit.id"]),
        *extras,
        sqlite_with_rowid=False,
    )


reading = part_of_visit(
    "reading",
    text("quantity", required=True),
    text("component"),
    text("tap"),
    Column("value", Double, nullable=False),
    text("dimension", required=True),
    text("entered", required=True),
    number("sample_temperature"),
    text("sample_temperature_entered"),
    text("at"),
    text("moment", required=True),
    text("evidence", required=True),
    indexed=("quantity",),
)

task_result = part_of_visit(
    "task_result",
    text("task", required=True),
    text("result", required=True),
    text("reason"),
    text("as_found"),
    text("day", required=True),
    counter("void"),
    indexed=("task", "day", "result", "as_found", "void", "reason"),
)

replacement = part_of_visit(
    "replacement",
    text("component", required=True),
    text("reason", required=True),
    text("condition", required=True),
    text("evidence", required=True),
    text("day", required=True),
    text("told_on"),
    text("by_whom", required=True),
    text("note"),
    indexed=("component",),
)

observation = part_of_visit("observation", text("code", required=True), text("component"), text("note"))

correction = Table(
    "correction",
    metadata,
    key("visit_id"),
    counter("number"),
    key("customer_id"),
    text("made_at", required=True),
    text("made_by", required=True),
    text("why", required=True),
    text("changes", required=True),
    text("former", required=True),
    PrimaryKeyConstraint("visit_id", "number"),
    ForeignKeyConstraint(["visit_id"], ["visit.id"]),
)

task_setting = Table(
    "task_setting",
    metadata,
    text("task", required=True),
    text("changes", required=True),
    counter("version"),
    PrimaryKeyConstraint("task"),
    sqlite_with_rowid=False,
)

unit_task_setting = Table(
    "unit_task_setting",
    metadata,
    key("unit_id"),
    text("task", required=True),
    key("customer_id"),
    text("changes", required=True),
    counter("version"),
    PrimaryKeyConstraint("unit_id", "task"),
    ForeignKeyConstraint(["unit_id"], ["unit.id"]),
    sqlite_with_rowid=False,
)

due_item = Table(
    "due_item",
    metadata,
    key("unit_id"),
    text("task", required=True),
    key("customer_id"),
    key("site_id"),
    text("due_on", required=True),
    text("basis", required=True),
    text("why", required=True),
    text("interval"),
    text("last_done_on"),
    PrimaryKeyConstraint("unit_id", "task"),
    ForeignKeyConstraint(["unit_id"], ["unit.id"]),
    ForeignKeyConstraint(["site_id"], ["site.id"]),
    Index("ix_due_item_due_on_site_id_unit_id_task", "due_on", "site_id", "unit_id", "task"),
    sqlite_with_rowid=False,
)

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
    text("noun", required=True),
    text("key", required=True),
    text("before"),
    text("after"),
    Index("ix_audit_noun_key", "noun", "key"),
)

day_done = Table(
    "day_done",
    metadata,
    text("job", required=True),
    key("site_id"),
    text("day", required=True),
    text("done_at", required=True),
    PrimaryKeyConstraint("job", "site_id", "day"),
    ForeignKeyConstraint(["site_id"], ["site.id"]),
    sqlite_with_rowid=False,
)

root_cause = Table(
    "root_cause",
    metadata,
    identity(),
    key("customer_id"),
    key("unit_id"),
    text("kind", required=True),
    text("tier", required=True),
    text("state", required=True),
    Column("luck_probability", Double, nullable=False),
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
    CheckConstraint("tier IN ('watch', 'probable', 'confirmed')", name="tier"),
    CheckConstraint("state IN ('open', 'confirmed', 'dismissed', 'resolved')", name="state"),
    CheckConstraint("luck_probability BETWEEN 0 AND 1", name="luck_probability"),
    Index("ix_root_cause_customer_id", "customer_id"),
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
    ForeignKeyConstraint(["unit_id"], ["unit.id"]),
)
