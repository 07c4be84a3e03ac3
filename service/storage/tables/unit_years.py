"""Years of units as letters show them."""

from sqlalchemy import Column, ForeignKeyConstraint, Integer, Table

from service.storage.tables.columns import KEY, metadata, text

unit_year = Table(
    "unit_year",
    metadata,
    Column("unit_id", KEY, primary_key=True, autoincrement=False),
    Column("year", Integer, primary_key=True, autoincrement=False),
    text("basis", required=True),
    text("since", required=True),
    text("day"),
    text("made", required=True),
    ForeignKeyConstraint(["unit_id"], ["unit.id"]),
)
