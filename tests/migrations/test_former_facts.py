"""Migration 0024 takes former facts and ends from the audit trail, on both engines."""

import json
from datetime import UTC, datetime

from sqlalchemy import text

from service.storage.engine.database import open_database
from service.storage.migrating import downgrade, upgrade
from service.storage.store import Store
from tests.migrations.conftest import MIGRATIONS

ENTRY = (
    "INSERT INTO audit (id, at, actor, role, request_id, action, resource, key, before, after)"
    " VALUES (:id, :at, 'Ida', 'owner', 'r', 'changed', :resource, :key, :before, :after)"
)


def test_former_facts_and_ends_are_those_of_the_audit_trail(base) -> None:
    upgrade(base.url, MIGRATIONS, "0023")
    base.fill("0023")
    pump = {"code": "pump-1", "kind": "pump", "rated_current": "4 A"}
    trail = [
        ("site", "lantern-quay", {"name": "A", "surroundings": "dusty"}, {"name": "A", "surroundings": "greasy"}),
        ("site", "lantern-quay", {"name": "A", "surroundings": "greasy"}, {"name": "B", "surroundings": "greasy"}),
        ("unit", "GU-0007", {"bath": {"set_point": "28 degF"}, "components": [pump]}, {"components": []}),
        ("unit", "GU-0007", {"retired_on": None}, {"retired_on": "2026-06-01"}),
        ("customer", "lantern", {"ended_on": "2026-05-01"}, {}),
    ]
    with base.connected() as connection:
        for number, (resource, key, before, after) in enumerate(trail, 100):
            at = f"2026-03-0{number - 99}T12:00:00.000000Z"
            texts = {"before": json.dumps(before), "after": json.dumps(after)}
            connection.execute(text(ENTRY), {"id": number, "at": at, "resource": resource, "key": key} | texts)
    upgrade(base.url, MIGRATIONS)
    database = open_database(base.url, Store)
    with database.reading() as store:
        history, ends = store.log_of("GU-0007").facts, list(store.changes.of("end"))
    database.close()

    assert history.sites["lantern-quay"][0].before == {"surroundings": "dusty"}
    assert [each.at.day for each in history.sites["lantern-quay"]] == [1]
    assert [(each.at, each.before) for each in history.unit] == [
        (datetime(2026, 3, 3, 12, tzinfo=UTC), {"bath": {"set_point": "28 degF"}, "ratings": {"pump-1": "4 A"}})
    ]
    assert [(each.at.day, each.key, each.before, each.after) for each in ends] == [
        (4, "unit/GU-0007", '{"on":null}', '{"on":"2026-06-01"}'),
        (5, "customer/lantern", '{"on":"2026-05-01"}', '{"on":null}'),
    ]
    downgrade(base.url, MIGRATIONS, "0023")
    with base.connected() as connection:
        kept = connection.execute(text("SELECT count(*) FROM change WHERE resource IN ('site', 'unit', 'end')"))
        assert kept.scalar() == 0
