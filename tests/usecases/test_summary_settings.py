"""PM of a year judged by the settings that held on the day, on each engine."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from service.domain.audit import Actor
from service.usecases.maintenance import tasks
from service.usecases.year import summaries

NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)
REGISTERED = Actor("tester", "owner", None, datetime(2026, 1, 2, 12, tzinfo=UTC))
LATER = replace(REGISTERED, at=NOW)
CLEANED = [{"task": "condenser_clean", "result": "done"}]


@pytest.fixture
def stocked(database, make):
    """One unit in the database since 2026-01-02; cleaned on 2026-01-05, and posts are made at the end of the year."""
    make.actor = REGISTERED
    with database.writing() as store:
        make.site(store, "quay")
        make.unit(store, "GU-1", "quay", installed_on=date(2024, 1, 1))
    make.actor, make.now = LATER, NOW
    clean(database, make, "2026-01-05")
    return database


def clean(database, make, day):
    with database.writing() as store:
        make.visit(store, "GU-1", f"{day}T18:00:00Z", tasks=CLEANED)


def set_interval(database, interval, day):
    """For all units, on a day at noon UTC."""
    with database.writing() as store:
        actor = replace(REGISTERED, at=datetime.fromisoformat(f"{day}T12:00:00Z"))
        _, former = tasks.one_task(store, "condenser_clean")
        tasks.set_task(store, actor, former, {"interval": interval})


def set_own(database, interval, day):
    """For the unit alone, on a day at noon UTC."""
    with database.writing() as store:
        actor = replace(REGISTERED, at=datetime.fromisoformat(f"{day}T12:00:00Z"))
        _, former = tasks.task_at(store, "GU-1", "condenser_clean")
        tasks.set_task_at(store, actor, "GU-1", former, {"interval": interval})


def lines(database, as_of=NOW, year=2026):
    with database.reading() as store:
        summarised = summaries.summarise(store, "lantern", year, as_of=as_of, program_version="0", units_shown=None)
    return [
        (line.due_on, line.state)
        for line in summarised.units[0].pm_lines
        if line.task == "condenser_clean" and line.state != "first"
    ]


@pytest.mark.parametrize(
    ("set_on", "due_on", "state"),
    [
        ("2026-11-19", date(2026, 4, 5), "on_time"),  # after it was done: not by what holds now
        ("2026-03-01", date(2026, 2, 5), "late"),  # before it was done
        ("2026-03-20", date(2026, 4, 5), "on_time"),  # a setting holds from the day after it was made
    ],
)
def test_a_task_is_judged_by_the_setting_that_held_when_it_was_done(stocked, make, set_on, due_on, state):
    """By hand: three months after 2026-01-05 is 04-05, one month after it 02-05; done on 03-20."""
    clean(stocked, make, "2026-03-20")
    set_interval(stocked, "1 month", set_on)

    assert lines(stocked)[0] == (due_on, state)


def test_a_units_own_setting_is_judged_by_its_day_as_well(stocked, make):
    """By hand: four months, set in February and taken back to two in October, from 2026-01-05 to 05-05."""
    clean(stocked, make, "2026-05-01")
    set_own(stocked, "4 months", "2026-02-01")
    set_own(stocked, "2 months", "2026-10-01")

    assert lines(stocked) == [(date(2026, 5, 5), "on_time"), (date(2026, 7, 1), "missed")]


def test_how_a_unit_was_registered_holds_for_the_time_before(stocked, make):
    """By hand: one month, set on the day the unit came into the database, from 2025-03-01 to 04-01."""
    set_interval(stocked, "1 month", "2026-01-02")
    clean(stocked, make, "2025-03-01")
    clean(stocked, make, "2025-05-15")

    assert lines(stocked, year=2025)[0] == (date(2025, 4, 1), "late")


def test_a_setting_made_after_as_of_is_not_looked_at(stocked, make):
    """By hand: three months from 2026-01-06 are not over on 03-01, one month is; recorded on the day itself."""
    make.actor = replace(REGISTERED, at=datetime(2026, 1, 6, 20, tzinfo=UTC))
    clean(stocked, make, "2026-01-06")
    before = lines(stocked, datetime(2026, 3, 1, tzinfo=UTC))
    set_interval(stocked, "1 month", "2026-11-19")

    assert before == lines(stocked, datetime(2026, 3, 1, tzinfo=UTC)) == []
    assert lines(stocked)[-1] == (date(2026, 2, 6), "missed")
