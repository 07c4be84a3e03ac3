"""Whether the records were moved to another database, or are still arriving from one: one row, or none."""

from sqlalchemy import CheckConstraint, Table

from service.storage.tables.columns import identity, metadata, text

move = Table(
    "move",
    metadata,
    identity(),
    text("state", required=True),
    text("address", required=True),  # of the other database, without user and password
    text("at", required=True),
    CheckConstraint("id = 1", name="one_row"),
    CheckConstraint("state IN ('arriving', 'moved')", name="state"),
)
