"""Migration 0030 takes from the audit trail what assignments were before, on both engines."""

import json
from datetime import date

from sqlalchemy import text

from service.storage.engine.database import open_database
from service.storage.migrating import downgrade, upgrade
from service.storage.store import Store
from service.usecases.planning.assignments_then import in_force_then
from tests.migrations.conftest import MIGRATIONS

ENTRY = text(
    "INSERT INTO audit (id, at, actor, role, request_id, action, resource, key, before, after)"
    " VALUES (:id, :at, 'Ida', 'owner', 'r', :action, 'assignment', '7', :before, :after)"
)
MADE = {"id": 7, "site": "lantern-quay", "technician": "rhea", "day": "2026-03-05", "posted_by": "Ida", "version": 1}
MADE |= {"posted_at": "2026-03-01T12:00:00+00:00"}
MOVED = MADE | {"day": "2026-03-09", "version": 2}


def test_an_assignment_that_was_moved_and_deleted_is_known_on_the_days_before(base) -> None:
    upgrade(base.url, MIGRATIONS, "0029")
    base.fill("0029")
    trail = [("created", None, MADE), ("changed", MADE, MOVED), ("deleted", MOVED, None)]  # on 1, 2 and 3 March
    with base.connected() as connection:
        connection.execute(text("DELETE FROM assignment"))
        for day, (action, before, after) in enumerate(trail, 1):
            texts = {"before": before and json.dumps(before), "after": after and json.dumps(after)}
            at = f"2026-03-0{day}T12:00:00.000000Z"
            connection.execute(ENTRY, {"id": 99 + day, "at": at, "action": action} | texts)
    upgrade(base.url, MIGRATIONS)
    database = open_database(base.url, Store)
    with database.reading() as store:
        found = [[row[4] for row in in_force_then(store, date(2026, 3, day)).values()] for day in range(4)[1:]]
        none = in_force_then(store, date(2026, 2, 28))
    database.close()

    assert (found, none) == ([["2026-03-05"], ["2026-03-09"], []], {})
    downgrade(base.url, MIGRATIONS, "0029")
    with base.connected() as connection:
        assert connection.execute(text("SELECT count(*) FROM change WHERE resource = 'assignment'")).scalar() == 0
