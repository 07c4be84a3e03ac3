"""What is set away from the catalogue, what is due, and which daily jobs are done."""

from sqlalchemy import (
    ForeignKeyConstraint,
    Index,
    PrimaryKeyConstraint,
    Table,
    UniqueConstraint,
)

from service.storage.tables.columns import counter, identity, key, metadata, text

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

first_date = Table(
    "first_date",
    metadata,
    key("unit_id"),
    text("task", required=True),
    key("customer_id"),
    text("planned_on", required=True),
    text("since", required=True),
    PrimaryKeyConstraint("unit_id", "task"),
    ForeignKeyConstraint(["unit_id"], ["unit.id"]),
    sqlite_with_rowid=False,
)

learned_figures = Table(
    "learned_figures",
    metadata,
    text("learned_at", required=True),
    text("figures", required=True),
    PrimaryKeyConstraint("learned_at"),
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
    text("away"),  # the days from due_on on at which it is not listed
    PrimaryKeyConstraint("unit_id", "task"),
    ForeignKeyConstraint(["unit_id"], ["unit.id"]),
    ForeignKeyConstraint(["site_id"], ["site.id"]),
    # The order of the list asks for these of everything due: the index answers alone.
    Index("ix_due_item_due_on", "due_on", "site_id", "unit_id", "task", "interval", "away"),
    sqlite_with_rowid=False,
)

travel_time = Table(
    "travel_time",
    metadata,
    text("from_site", required=True),
    text("to_site", required=True),
    counter("minutes"),
    PrimaryKeyConstraint("from_site", "to_site"),
    sqlite_with_rowid=False,
)

van_movement = Table(
    "van_movement",
    metadata,
    identity(),
    text("uuid", required=True),
    key("technician_id"),
    text("item", required=True),
    text("action", required=True),
    text("amount", required=True),  # a whole number, or a quantity as JSON
    text("at", required=True),
    text("by", required=True),
    UniqueConstraint("uuid"),
    ForeignKeyConstraint(["technician_id"], ["technician.id"]),
    Index("ix_van_movement_technician_id", "technician_id"),
)

job_done = Table(
    "job_done",
    metadata,
    text("job", required=True),
    text("day", required=True),
    text("done_at", required=True),
    PrimaryKeyConstraint("job", "day"),
    sqlite_with_rowid=False,
)
