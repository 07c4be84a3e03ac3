"""The company itself: one row."""

from sqlalchemy import CheckConstraint, Table

from service.storage.tables.columns import counter, identity, metadata, number, text

company = Table(
    "company",
    metadata,
    identity(),
    text("name"),
    text("address"),
    text("phone"),
    text("email"),
    text("licence"),
    number("hours_per_day"),
    counter("version"),
    number("latitude"),
    number("longitude"),
    text("day_starts_at"),
    text("time_zone"),
    number("road_factor"),
    number("travel_speed_kmh"),
    number("minutes_at_door"),
    CheckConstraint("id = 1", name="one_row"),
)
