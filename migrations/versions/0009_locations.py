"""Dated locations of units; each visit has the site at which it was made.

Where the audit trail says that a unit's site was changed, its former locations are made from it, and visits and calls
get the site at which the unit stood. Where it does not say, they are at the unit's present site.
"""

import datetime
import json
import typing
import zoneinfo

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
KEY = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
FK = "fk_visit_site_id"
ONE_DAY = datetime.timedelta(days=1)
PARTS = ("reading", "task_result", "replacement", "observation", "visit_call", "correction")
HAVE_DAY = ("task_result", "replacement")
CHANGES = (
    "SELECT unit.id, unit.site_id, audit.at, audit.actor, audit.before, audit.after FROM audit "
    "JOIN unit ON unit.tag = audit.key WHERE audit.resource = 'unit' AND audit.action = 'changed' ORDER BY audit.id"
)


class Site(typing.NamedTuple):
    """A site as the table has it."""

    id: int
    code: str
    customer_id: int
    time_zone: str


class Move(typing.NamedTuple):
    """A change of a unit's site, and when and by whom it was recorded."""

    at: str
    by: str
    former: Site
    new: Site


class Location(typing.NamedTuple):
    """A site at which a unit stands from a day on, None for the first; `move` is the change that it was made from."""

    site: Site
    starts_on: datetime.date | None
    move: Move | None

    def begins_by(self, instant: datetime.datetime) -> bool:
        """Whether the day has begun at the site."""
        if self.starts_on is None:
            return True
        zone = zoneinfo.ZoneInfo(self.site.time_zone)
        return datetime.datetime.combine(self.starts_on, datetime.time(), zone) <= instant


def upgrade() -> None:
    op.create_table(
        "location",
        sa.Column("unit_id", KEY, nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("customer_id", KEY, nullable=False),
        sa.Column("site_id", KEY, nullable=False),
        sa.Column("starts_on", TEXT),
        sa.Column("reason", TEXT),
        sa.Column("made_at", TEXT),
        sa.Column("made_by", TEXT),
        sa.ForeignKeyConstraint(["unit_id"], ["unit.id"], name=op.f("fk_location_unit_id")),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_location_site_id")),
        sa.PrimaryKeyConstraint("unit_id", "number", name=op.f("pk_location")),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_location_customer_id", "location", ["customer_id"])
    op.create_index("ix_location_site_id", "location", ["site_id"])
    op.add_column("visit", sa.Column("site_id", KEY))
    op.execute("UPDATE visit SET site_id = (SELECT unit.site_id FROM unit WHERE unit.id = visit.unit_id)")
    op.execute("UPDATE visit SET customer_id = (SELECT unit.customer_id FROM unit WHERE unit.id = visit.unit_id)")
    for unit_id, moves in _moves().items():
        _restore(unit_id, moves)
    with op.batch_alter_table("visit") as visit:
        visit.alter_column("site_id", existing_type=KEY, nullable=False)
        visit.create_foreign_key(op.f(FK), "site", ["site_id"], ["id"])


def downgrade() -> None:
    with op.batch_alter_table("visit") as visit:
        visit.drop_constraint(op.f(FK), type_="foreignkey")
        visit.drop_column("site_id")
    op.drop_table("location")


def _rows(statement: str, **values: object) -> list[tuple[typing.Any, ...]]:
    return [tuple(row) for row in op.get_bind().execute(sa.text(statement), values)]


def _run(statement: str, **values: object) -> None:
    op.get_bind().execute(sa.text(statement), values)


def _moves() -> dict[int, list[Move]]:
    """By unit the changes of its site, where they lead to the site at which it stands."""
    sites = {row[1]: Site(*row) for row in _rows("SELECT id, code, customer_id, time_zone FROM site")}
    found: dict[int, list[Move | None]] = {}
    present = {}
    for unit_id, site_id, at, by, before, after in _rows(CHANGES):
        former, new = (json.loads(text or "{}").get("site") for text in (before, after))
        present[unit_id] = site_id
        if former != new:
            known = former in sites and new in sites
            found.setdefault(unit_id, []).append(Move(at, by, sites[former], sites[new]) if known else None)
    return {key: kept for key, moves in found.items() if (kept := _connected(moves, present[key]))}


def _connected(moves: list[Move | None], present: int) -> list[Move]:
    """The moves if all are known and each begins where the one before ended, the last at the present site."""
    known = [move for move in moves if move is not None]
    sites = [move.former for move in known[1:]]
    whole = len(known) == len(moves) and sites == [move.new for move in known[:-1]]
    return known if whole and known[-1].new.id == present else []


def _restore(unit_id: int, moves: list[Move]) -> None:
    visits = _rows("SELECT id, arrived_at, posted_at FROM visit WHERE unit_id = :of_unit", of_unit=unit_id)
    locations = [Location(moves[0].former, None, None)]
    locations += [Location(move.new, _first_day(move, visits), move) for move in moves]
    for number, location in enumerate(locations):
        _add(unit_id, number, location)
    in_force = _in_force(locations)
    for visit_id, arrived_at, _ in visits:
        arrived = datetime.datetime.fromisoformat(arrived_at)
        site = _site_at(in_force, arrived)
        day = arrived.astimezone(zoneinfo.ZoneInfo(site.time_zone)).date().isoformat()
        _relocate(visit_id, site, day)
    for call_id, received_at in _rows("SELECT id, received_at FROM call WHERE unit_id = :of_unit", of_unit=unit_id):
        site = _site_at(in_force, datetime.datetime.fromisoformat(received_at))
        statement = "UPDATE call SET site_id = :site, customer_id = :customer WHERE id = :call"
        _run(statement, site=site.id, customer=site.customer_id, call=call_id)


def _first_day(move: Move, visits: list[tuple[typing.Any, ...]]) -> datetime.date:
    """The day of the change at the new site; the next one where the visits of that day were recorded before it."""
    zone = zoneinfo.ZoneInfo(move.new.time_zone)
    day = datetime.datetime.fromisoformat(move.at).astimezone(zone).date()
    on_day = [
        posted_at < move.at
        for _, arrived_at, posted_at in visits
        if datetime.datetime.fromisoformat(arrived_at).astimezone(zone).date() == day
    ]
    return day + ONE_DAY if on_day and all(on_day) else day


def _in_force(locations: list[Location]) -> list[Location]:
    """By day; of two from one day the one recorded later counts."""
    latest = {each.starts_on: each for each in locations}
    return sorted(latest.values(), key=lambda each: each.starts_on or datetime.date.min)


def _site_at(locations: list[Location], instant: datetime.datetime) -> Site:
    return next(each for each in reversed(locations) if each.begins_by(instant)).site


def _add(unit_id: int, number: int, location: Location) -> None:
    _run(
        "INSERT INTO location (unit_id, number, customer_id, site_id, starts_on, made_at, made_by) "
        "VALUES (:unit, :number, :customer, :site, :starts_on, :at, :by)",
        unit=unit_id,
        number=number,
        customer=location.site.customer_id,
        site=location.site.id,
        starts_on=location.starts_on and location.starts_on.isoformat(),
        at=location.move and location.move.at,
        by=location.move and location.move.by,
    )


def _relocate(visit_id: int, site: Site, day: str) -> None:
    _run(
        "UPDATE visit SET site_id = :site, customer_id = :customer, day = :day WHERE id = :visit",
        site=site.id,
        customer=site.customer_id,
        day=day,
        visit=visit_id,
    )
    for table in PARTS:
        reported = "coalesce(reported_on, :day)" if table == "replacement" else ":day"
        dated = f", day = {reported}" if table in HAVE_DAY else ""
        values = {"day": day} if dated else {}
        _run(
            f"UPDATE {table} SET customer_id = :customer{dated} WHERE visit_id = :visit",
            customer=site.customer_id,
            visit=visit_id,
            **values,
        )
