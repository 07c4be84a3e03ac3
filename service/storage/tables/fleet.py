"""Who pays, where the units stand, and what they are made of."""

from sqlalchemy import (
    CheckConstraint,
    ForeignKeyConstraint,
    Index,
    PrimaryKeyConstraint,
    Table,
    UniqueConstraint,
)

from service.storage.tables.columns import counter, identity, key, metadata, number, text

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
    text("care_from"),
    text("ended_on"),
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
    text("leave"),
    number("hours_per_day"),
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
    text("care_from"),
    text("ended_on"),
    text("closures"),
    text("elevation"),
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
    counter("log_version"),  # counts every change of the unit's history
    counter("due_version"),  # the log_version for which its due items were worked out, 0 for none
    counter("due_rules"),  # the rules by which they were
    text("care_from"),
    text("last_done"),
    text("pauses"),
    key("replaces_id", required=False),
    UniqueConstraint("tag"),
    UniqueConstraint("replaces_id"),
    ForeignKeyConstraint(["customer_id"], ["customer.id"]),
    ForeignKeyConstraint(["site_id"], ["site.id"]),
    ForeignKeyConstraint(["replaces_id"], ["unit.id"]),
    Index("ix_unit_site_id", "site_id"),
    Index("ix_unit_customer_id", "customer_id"),
)

location = Table(
    "location",
    metadata,
    key("unit_id"),
    counter("number"),  # in the order in which they were recorded; 0 is the first location
    key("customer_id"),
    key("site_id"),
    text("starts_on"),
    text("reason"),
    text("made_at"),
    text("made_by"),
    PrimaryKeyConstraint("unit_id", "number"),
    ForeignKeyConstraint(["unit_id"], ["unit.id"]),
    ForeignKeyConstraint(["site_id"], ["site.id"]),
    Index("ix_location_customer_id", "customer_id"),
    Index("ix_location_site_id", "site_id"),
    sqlite_with_rowid=False,
)

former_tag = Table(
    "former_tag",
    metadata,
    text("tag", required=True),
    key("unit_id"),
    key("customer_id"),
    text("changed_at", required=True),
    text("changed_by", required=True),
    PrimaryKeyConstraint("tag", "unit_id", "changed_at"),
    ForeignKeyConstraint(["unit_id"], ["unit.id"]),
    Index("ix_former_tag_unit_id", "unit_id"),
    sqlite_with_rowid=False,
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
