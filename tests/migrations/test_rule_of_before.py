"""Migration 0029 keeps PM of the past judged by the rule that was the default until then, on both engines."""

import json
import re
from datetime import UTC, date, datetime

import pytest
from sqlalchemy import text

from service.domain.audit import Actor
from service.schemas.transfer import read_lines
from service.storage.engine.database import open_database
from service.storage.migrating import downgrade, upgrade
from service.storage.store import Store
from service.usecases.planning import past_list
from service.usecases.transfer import exporting, importing
from service.usecases.year import summaries
from tests.migrations.conftest import MIGRATIONS
from tests.summary_recount.generated import fleet

FORMER = "0028"
TASK = "condenser_clean"
STEPPED = {"rule": "stepped"}
SETTING = text("SELECT changes, version FROM task_setting WHERE task = :task")
HISTORY = text("SELECT at, before, after FROM change WHERE resource = 'task' AND key = :task ORDER BY at")
ADD = text(
    "INSERT INTO change (id, at, made_by, resource, key, before, after)"
    " VALUES (:id, :at, 'Ida', 'task', :task, :before, :after)"
)
SET = text("INSERT INTO task_setting (task, changes, version) VALUES (:task, :changes, :version)")


def filled(base, *settings):
    """A database of the revision before, with these settings of the task one after the other."""
    upgrade(base.url, MIGRATIONS, FORMER)
    base.fill(FORMER)
    before = {}
    with base.connected() as connection:
        for number, after in enumerate(settings, 1):
            row = {"id": 900 + number, "at": f"2026-03-0{number}T12:00:00.000000Z", "task": TASK}
            connection.execute(ADD, row | {"before": json.dumps(before), "after": json.dumps(after)})
            before = after
        if settings:
            connection.execute(SET, {"task": TASK, "changes": json.dumps(before), "version": len(settings)})


def history(base):
    """[(instant, before, after)] of the task."""
    with base.connected() as connection:
        rows = connection.execute(HISTORY, {"task": TASK}).all()
    return [(at, json.loads(before), json.loads(after)) for at, before, after in rows]


def test_a_database_in_use_goes_by_stepped_until_the_upgrade_and_by_the_default_from_then_on(base) -> None:
    filled(base)
    upgrade(base.url, MIGRATIONS)
    ((at, before, after),) = history(base)

    assert (before, after) == (STEPPED, {})
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z", at)
    downgrade(base.url, MIGRATIONS, FORMER)
    assert history(base) == []


def test_so_it_did_on_every_day_on_which_no_rule_was_set(base) -> None:
    interval, other = {"interval": "2 months"}, {"minutes": 40, "note": "Küche"}
    filled(base, interval, {**interval, "rule": "calendar"}, other)
    upgrade(base.url, MIGRATIONS)

    assert [each[1:] for each in history(base)] == [
        (STEPPED, {**interval, **STEPPED}),
        ({**interval, **STEPPED}, {**interval, "rule": "calendar"}),
        ({**interval, "rule": "calendar"}, {**other, **STEPPED}),
        ({**other, **STEPPED}, other),
    ]
    with base.connected() as connection:
        (row,) = connection.execute(SETTING, {"task": TASK})
    assert (json.loads(row[0]), row[1]) == (other, 3)


def test_a_rule_that_an_owner_set_stays_in_force(base) -> None:
    filled(base, {"rule": "calendar"})
    upgrade(base.url, MIGRATIONS)

    assert [each[1:] for each in history(base)] == [(STEPPED, {"rule": "calendar"})]


def test_an_empty_database_goes_by_the_default_from_the_beginning(base) -> None:
    upgrade(base.url, MIGRATIONS)

    assert history(base) == []


NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)
ACTOR = Actor("tester", "owner", None, NOW)


def answers(url):
    """What a year and a day of the past say of PM, and the export without what the import itself recorded."""
    database = open_database(url, Store)
    with database.reading() as store:
        summary = summaries.summarise(store, "lantern", 2025, as_of=NOW, program_version="0", units_shown=None)
        then = past_list.tasks_then(store, date(2025, 6, 2))[TASK].rule
        lines = list(exporting.records(store, trail=False))
    database.close()
    pm = [(each.task, each.due_on, each.state, each.interval) for unit in summary.units for each in unit.pm_lines]
    return pm, then, lines


def take(url, records) -> None:
    upgrade(url, MIGRATIONS)
    database = open_database(url, Store)
    with database.writing() as store:
        lines = read_lines(json.dumps(record).encode() for record in records)
        importing.import_records(store, ACTOR, lines, keep_good=False)
    database.close()


def played(*, rule=None):
    """A small fleet that was registered before its visits; where a rule is set it was so from the beginning."""
    registered = {"registered_on": "2023-12-01"}
    for record in fleet(units=3, visits=90, seed=11):
        if record["record"] == "unit" and rule is not None and record["tag"] == "GU-0000":
            yield {"record": "change", "of": "task", "key": TASK, "at": "2023-11-01T12:00:00Z", "by": "Ida",
                   "before": {}, "after": {"rule": rule}}  # fmt: skip
            yield {"record": "task", "code": TASK, "rule": rule}
        yield record | (registered if record["record"] == "unit" else {})


@pytest.mark.parametrize("moved", [False, True], ids=["upgraded", "exported and imported"])
def test_a_past_year_and_day_stay_as_they_were_judged(base, tmp_path, moved) -> None:
    urls = [f"sqlite:///{tmp_path}/{name}.db" for name in ("stepped", "learned", "moved")]
    take(urls[0], played(rule="stepped"))
    take(urls[1], played())
    stepped, learned = answers(urls[0]), answers(urls[1])
    take(base.url, played())
    downgrade(base.url, MIGRATIONS, FORMER)
    upgrade(base.url, MIGRATIONS)
    with base.connected() as connection:
        connection.execute(text("UPDATE change SET at = '2026-11-19T12:00:00.000000Z'"))  # whenever the test is run
    if moved:
        take(urls[2], answers(base.url)[2])

    found = answers(urls[2] if moved else base.url)
    assert found[:2] == stepped[:2] != learned[:2]
