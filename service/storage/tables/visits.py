"""Visits, their parts, and what was put right in them."""

from sqlalchemy import (
    CheckConstraint,
    Column,
    Double,
    ForeignKeyConstraint,
    Index,
    Integer,
    PrimaryKeyConstraint,
    Table,
    UniqueConstraint,
)

from service.storage.tables.columns import counter, identity, key, metadata, number, text

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
    text("parts_promised_on"),
    text("crew"),
    text("internal_note"),
    text("parts_used"),
    text("signed_by"),
    key("site_id"),
    text("attendance"),
    Column("shared_by", Integer),
    UniqueConstraint("uuid"),
    ForeignKeyConstraint(["customer_id"], ["customer.id"]),
    ForeignKeyConstraint(["unit_id"], ["unit.id"]),
    ForeignKeyConstraint(["site_id"], ["site.id"]),
    ForeignKeyConstraint(["technician_id"], ["technician.id"]),
    CheckConstraint("by_whom IN ('us', 'others')", name="by_whom"),
    CheckConstraint("evidence IN ('seen', 'reported')", name="evidence"),
    CheckConstraint("left_at >= arrived_at", name="leaves_after_arriving"),
    Index("ix_visit_unit_id_arrived_at", "unit_id", "arrived_at"),
    Index("ix_visit_arrived_at", "arrived_at"),
    Index("ix_visit_attendance", "attendance"),
)


def part_of_visit(
    name: str, *columns: Column[str] | Column[int] | Column[float], indexed: tuple[str, ...] = ()
) -> Table:
    """A table of a visit's parts, stored together in the order in which they were entered.

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
    text("reported_on"),
    text("by_whom", required=True),
    text("note"),
    text("item"),
    text("removed_item"),
    text("earliest"),
    text("latest"),
    indexed=("component",),
)

observation = part_of_visit("observation", text("code", required=True), text("component"), text("note"))

# Which calls a visit answers: a call's own state follows from it.
visit_call = part_of_visit("visit_call", text("call", required=True))
Index("ix_visit_call_call", visit_call.c.call)
Index("ix_visit_call_unit_id", visit_call.c.unit_id)

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
    key("from_unit_id", required=False),  # the unit of the visit before it was moved to another one
    PrimaryKeyConstraint("visit_id", "number"),
    ForeignKeyConstraint(["visit_id"], ["visit.id"]),
    ForeignKeyConstraint(["from_unit_id"], ["unit.id"]),
    Index("ix_correction_from_unit_id", "from_unit_id"),
)
