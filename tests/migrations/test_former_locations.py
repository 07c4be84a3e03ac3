"""Migration 0009 makes the former locations of units from the audit trail, on both engines."""

import json
from typing import Any

import pytest
from sqlalchemy import text

from service.domain.record.locations import in_force
from service.storage.engine.database import open_database
from service.storage.migrating import downgrade, upgrade
from service.storage.store import Store
from tests.migrations.conftest import MIGRATIONS

UUID = "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b"
QUAY, BAY, PIER = "lantern-quay", "anchor-bay", "lantern-pier"  # Denver, Auckland, New York
BOTH = "INSERT INTO site (id, customer_id, code, name, time_zone, closed_weekdays, version) VALUES "


class Trail:
    """A database at 0008: a unit at three sites of two customers, with what was recorded of it."""

    def __init__(self, base: Any) -> None:
        self.base, self.entries, self.visits = base, 1, 2
        upgrade(base.url, MIGRATIONS, "0008")
        base.fill("0008")
        self.run(BOTH + "(3, 1, 'lantern-pier', 'Pier', 'America/New_York', '', 1)")

    def run(self, statement: str, **values: Any) -> list[tuple[Any, ...]]:
        """Run plain SQL."""
        with self.base.connected() as connection:
            found = connection.execute(text(statement), values)
            return [tuple(row) for row in found] if found.returns_rows else []

    def entry(self, at: str, before: str, after: str, *, tag: str = "GU-0007", resource: str = "unit") -> None:
        """A change of a unit, as the audit trail has it."""
        self.entries += 1
        before, after = (json.dumps({"tag": tag, "site": site, "place": "cellar"}) for site in (before, after))
        self.run(
            "INSERT INTO audit (id, at, actor, role, request_id, action, resource, key, before, after)"
            " VALUES (:id, :at, 'Ida', 'owner', 'r', 'changed', :resource, :tag, :before, :after)",
            id=self.entries, at=at, tag=tag, resource=resource, before=before, after=after,
        )  # fmt: skip

    def stands(self, site_id: int, customer_id: int) -> None:
        """Where the unit stood when it was migrated."""
        self.run("UPDATE unit SET site_id = :site, customer_id = :customer WHERE id = 1", site=site_id,
                 customer=customer_id)  # fmt: skip

    def visit(self, arrived_at: str, posted_at: str) -> str:
        """A visit with a task, a replacement and a correction; its day is as the present site has it, as before."""
        self.visits += 1
        key, day = f"{UUID}{self.visits:02}", arrived_at[:10]
        self.run(
            "INSERT INTO visit (id, customer_id, unit_id, uuid, kind, by_whom, evidence, arrived_at, day, posted_at,"
            " posted_by, fingerprint, version) VALUES (:id, 2, 1, :key, 'maintenance', 'us', 'seen', :arrived_at, :day,"
            " :posted_at, 'Rhea', 'f', 1)",
            id=self.visits, key=key, arrived_at=arrived_at, day=day, posted_at=posted_at,
        )  # fmt: skip
        self.run(
            "INSERT INTO task_result (visit_id, position, customer_id, unit_id, task, result, day, void)"
            " VALUES (:id, 0, 2, 1, 'pump_check', 'done', :day, 0)",
            id=self.visits, day=day,
        )  # fmt: skip
        self.run(
            "INSERT INTO replacement (visit_id, position, customer_id, unit_id, component, reason, condition,"
            " evidence, by_whom, day, reported_on) VALUES (:id, 0, 2, 1, 'pump-1', 'failed', 'worn', 'seen', 'us',"
            " :day, :reported)",
            id=self.visits, day=day, reported=None if self.visits % 2 else "2025-01-01",
        )  # fmt: skip
        return key

    def migrated(self) -> "Read":
        """What the program of today reads after the migration."""
        upgrade(self.base.url, MIGRATIONS)
        return Read(self)


class Read:
    """The unit's log as the program has it, and the rows beside it."""

    def __init__(self, trail: Trail) -> None:
        database = open_database(trail.base.url, Store)
        with database.reading() as store:
            self.log = store.log_of("GU-0007")
            self.calls = [(call.id[-3:], call.site) for call in self.log.calls]
        database.close()
        self.trail = trail

    @property
    def locations(self) -> list[tuple[str, str | None, str | None]]:
        """(site, first day, recorded by) of all that counts."""
        recorded = in_force(self.log.moves)
        return [(each.site.code, each.starts_on and each.starts_on.isoformat(), each.by) for each in recorded]

    def visit(self, key: str) -> tuple[str, str, str]:
        """(site, customer, local day) of a visit; its rows agree."""
        (visit,) = (each for each in self.log.all_visits if each.id == key)
        rows = self.trail.run(
            "SELECT v.day, t.day, r.day, v.customer_id, t.customer_id, r.customer_id, r.reported_on FROM visit v"
            " JOIN task_result t ON t.visit_id = v.id JOIN replacement r ON r.visit_id = v.id WHERE v.uuid = :key",
            key=key,
        )
        ((day, of_task, of_part, *customers, reported),) = rows
        assert day == of_task == visit.day.isoformat()
        assert of_part == reported or (reported is None and of_part == day)
        assert set(customers) == {{"lantern": 1, "anchor": 2}[visit.customer]}
        return visit.site, visit.customer, day


@pytest.fixture
def trail(base) -> Trail:
    """A database at the revision before."""
    return Trail(base)


def test_former_locations_are_those_of_the_audit_trail(trail) -> None:
    at_quay = trail.visit("2026-01-10T05:00:00.000000Z", "2026-01-10T06:00:00.000000Z")  # 9 January in Denver
    trail.entry("2026-02-01T17:00:00.000000Z", QUAY, QUAY)  # another field was changed
    trail.entry("2026-03-01T17:00:00.000000Z", QUAY, PIER)
    at_pier = trail.visit("2026-03-10T03:30:00.000000Z", "2026-03-10T04:00:00.000000Z")  # 9 March in New York
    trail.entry("2026-04-10T17:00:00.000000Z", PIER, BAY)  # 11 April in Auckland
    at_bay = trail.visit("2026-05-10T20:00:00.000000Z", "2026-05-10T21:00:00.000000Z")  # 11 May in Auckland
    late = trail.visit("2026-03-20T20:00:00.000000Z", "2026-05-11T21:00:00.000000Z")  # recorded after the move
    trail.stands(2, 2)
    found = trail.migrated()

    assert found.locations == [(QUAY, None, None), (PIER, "2026-03-01", "Ida"), (BAY, "2026-04-11", "Ida")]
    assert found.visit(at_quay) == (QUAY, "lantern", "2026-01-09")
    assert found.visit(at_pier) == (PIER, "lantern", "2026-03-09")
    assert found.visit(at_bay) == (BAY, "anchor", "2026-05-11")
    assert found.visit(late) == (PIER, "lantern", "2026-03-20")
    assert found.calls == [("c01", BAY)]  # received on 10 June
    assert found.log.unit.site == BAY


def test_a_call_is_at_the_site_at_which_the_unit_stood(trail) -> None:
    trail.entry("2026-06-12T17:00:00.000000Z", QUAY, BAY)
    trail.run("UPDATE call SET site_id = 2, customer_id = 2")  # recorded after the move
    trail.stands(2, 2)

    assert trail.migrated().calls == [("c01", QUAY)]


@pytest.mark.parametrize(
    ("posted_at", "site"),
    [("2026-03-01T16:00:00.000000Z", QUAY), ("2026-03-01T18:00:00.000000Z", PIER)],
)
def test_a_visit_on_the_day_of_a_move_stays_where_it_was_recorded(trail, posted_at, site) -> None:
    key = trail.visit("2026-03-01T15:00:00.000000Z", posted_at)
    trail.entry("2026-03-01T17:00:00.000000Z", QUAY, PIER)
    trail.stands(3, 1)

    assert trail.migrated().visit(key)[0] == site


@pytest.mark.parametrize(
    "entries",
    [
        [],
        [("2026-03-01T17:00:00.000000Z", QUAY, "no-such-site"), ("2026-03-02T17:00:00.000000Z", "no-such-site", BAY)],
        [("2026-03-01T17:00:00.000000Z", QUAY, PIER)],  # not where the unit stands
        [("2026-03-01T17:00:00.000000Z", QUAY, PIER), ("2026-03-02T17:00:00.000000Z", QUAY, BAY)],
    ],
)
def test_where_the_trail_does_not_say_all_is_at_the_present_site(trail, entries) -> None:
    key = trail.visit("2026-01-10T20:00:00.000000Z", "2026-01-10T21:00:00.000000Z")
    trail.entry("2026-02-01T17:00:00.000000Z", QUAY, BAY, tag="GU-0008")
    trail.entry("2026-02-01T17:00:00.000000Z", QUAY, BAY, resource="unit_task")
    for each in entries:
        trail.entry(*each)
    trail.stands(2, 2)
    found = trail.migrated()

    assert found.locations == []
    (visit,) = (each for each in found.log.all_visits if each.id == key)
    assert (visit.site, visit.customer) == (BAY, "anchor")


def test_the_way_back_keeps_the_visits(trail) -> None:
    trail.visit("2026-01-10T05:00:00.000000Z", "2026-01-10T06:00:00.000000Z")
    trail.entry("2026-03-01T17:00:00.000000Z", QUAY, BAY)
    trail.stands(2, 2)
    before = trail.base.counted()
    trail.migrated()
    downgrade(trail.base.url, MIGRATIONS, "0008")

    assert trail.base.counted() == before
